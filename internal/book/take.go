package book

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
)

// Brought is a file that a person brought, for a unit or a customer where they
// said which (else 0).
type Brought struct {
	ID         int64
	CustomerID int64
	UnitID     int64
	Name       string
	Content    []byte
	At         time.Time
}

// Bring keeps a file for whoever brings it, in place of the one they brought
// before. One that cannot be read is a fault.Invalid on "file".
func Bring(ctx context.Context, tx pgx.Tx, by history.By, b Brought) (id int64, err error) {
	if err := mayRead(by); err != nil {
		return 0, err
	}
	if _, err := Parse(b.Content, by.At); err != nil {
		return 0, err
	}
	if utf8.RuneCountInString(b.Name) > MostLetters || !utf8.ValidString(b.Name) || strings.ContainsRune(b.Name, 0) {
		b.Name = "book.json"
	}
	if _, err := tx.Exec(ctx, "lock table book_file in share row exclusive mode"); err != nil {
		return 0, db.Translate(err)
	}
	if _, err := tx.Exec(ctx, "delete from book_file where staff_id = $1", by.Staff); err != nil {
		return 0, fmt.Errorf("keep a service book: %w", err)
	}
	err = tx.QueryRow(ctx, `insert into book_file (staff_id, customer_id, unit_id, name, content, at)
		values ($1, nullif($2, 0::bigint), nullif($3, 0::bigint), $4, $5, $6) returning id`,
		by.Staff, b.CustomerID, b.UnitID, b.Name, b.Content, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("keep a service book: %w", db.Translate(err))
	}
	return id, nil
}

func mayRead(by history.By) error {
	if !by.Has("desk") && !by.Has("owner") {
		return fault.Forbidden("Service books are read in at the desk.")
	}
	return nil
}

// Plan is what reading a file in would do.
type Plan struct {
	Brought
	File     File
	Unit     customer.Unit // ID 0: a new one
	Customer customer.Customer
	Works    []Work   // that are new here
	Hours    []Ridden // that are new here; what was taken back here is not
	Known    int      // services that stand in its book already
	Back     int      // services that were taken back here, and stay out
	// Alike are units of the customer, where it is to be a new one, that have
	// services of the file in their book: it may be one of them.
	Alike   []customer.Unit
	Refused string // why nothing of it can be taken; empty where it can
}

// Readings counts those of the works.
func (p Plan) Readings() int {
	n := 0
	for _, w := range p.Works {
		n += len(w.Readings)
	}
	return n
}

// Any reports whether there is anything to take.
func (p Plan) Any() bool { return p.Refused == "" && (p.Unit.ID == 0 || len(p.Works)+len(p.Hours) > 0) }

// Look says what reading in a file would do that this person brought; those of
// others are not there.
func Look(ctx context.Context, q db.Querier, id, staffID int64, today time.Time) (p Plan, err error) {
	rows, err := q.Query(ctx, `select id, coalesce(customer_id, 0) as customer_id, coalesce(unit_id, 0) as unit_id, name, content, at
		from book_file where id = $1 and staff_id = $2`, id, staffID)
	if p.Brought, err = db.One[Brought](rows, err, "file; it was taken in already, or another one brought"); err != nil {
		return p, fmt.Errorf("read service book %d: %w", id, err)
	}
	if p.File, err = Parse(p.Content, today); err != nil {
		return p, err
	}
	if err := p.match(ctx, q); err != nil {
		return p, fmt.Errorf("match service book %d: %w", id, err)
	}
	p.Works, p.Hours = p.File.Services, newNotes(p.File.RideHours, nil)
	switch {
	case p.Refused != "":
		return p, nil
	case p.Unit.ID == 0:
		return p, p.findAlike(ctx, q)
	}
	has, err := Read(ctx, q, p.Unit.ID, today)
	if err != nil {
		return p, err
	}
	p.Works = slices.DeleteFunc(slices.Clone(p.Works), func(w Work) bool {
		return slices.ContainsFunc(has.Works, func(h Work) bool { return h.Ref == w.Ref })
	})
	p.Known = len(p.File.Services) - len(p.Works)
	if err := p.leaveOut(ctx, q); err != nil {
		return p, err
	}
	var known []Ridden
	for _, r := range has.Readings {
		known = append(known, riddenOf(r, has.Shop.Location()))
	}
	p.Hours = newNotes(p.File.RideHours, known)
	return p, nil
}

// leaveOut leaves out works that were taken back here.
func (p *Plan) leaveOut(ctx context.Context, q db.Querier) error {
	list, err := Elsewhere(ctx, q, p.Unit.ID)
	before := len(p.Works)
	p.Works = slices.DeleteFunc(p.Works, func(w Work) bool {
		return slices.ContainsFunc(list, func(e Work) bool { return e.BackAt != nil && e.Ref == w.Ref })
	})
	p.Back = before - len(p.Works)
	return err
}

// newNotes are those of a list that are not known, each once.
func newNotes(list, known []Ridden) []Ridden {
	seen := map[string]bool{}
	for _, r := range known {
		seen[r.note()] = true
	}
	return slices.DeleteFunc(slices.Clone(list), func(r Ridden) bool {
		was := seen[r.note()]
		seen[r.note()] = true
		return was
	})
}

// note is the same for two notes that say the same of the same days.
func (r Ridden) note() string {
	return fmt.Sprintf("%s %s %s %s %g %s %q", r.Kind, r.On.Format(time.DateOnly), dayText(r.Since), dayText(r.ReadOn),
		[]float64{r.Hours, r.RidesAWeek, r.HoursARide, r.IndoorHours}, cmp.Or(r.Season, interval.AllYear), slices.Sorted(slices.Values(r.Conditions)))
}

func dayText(d *Date) string {
	if d == nil {
		return ""
	}
	return d.Format(time.DateOnly)
}

// findAlike finds the units that Alike speaks of.
func (p *Plan) findAlike(ctx context.Context, q db.Querier) error {
	units, err := customer.Units(ctx, q, p.Customer.ID)
	if err != nil {
		return fmt.Errorf("find units like that of service book %d: %w", p.ID, err)
	}
	for _, u := range units {
		if u.Kind != p.File.Unit.Kind {
			continue
		}
		refs, err := refsOf(ctx, q, u.ID)
		if err != nil {
			return fmt.Errorf("find units like that of service book %d: %w", p.ID, err)
		}
		if slices.ContainsFunc(p.Works, func(w Work) bool { return slices.Contains(refs, w.Ref) }) {
			p.Alike = append(p.Alike, u)
		}
	}
	return nil
}

// match finds the unit of the file: the one it was brought for, else the one of its
// kind and serial, else a new one of the customer it was brought for.
func (p *Plan) match(ctx context.Context, q db.Querier) (err error) {
	f := p.File.Unit
	if p.UnitID != 0 {
		if p.Unit, err = customer.GetUnit(ctx, q, p.UnitID); err != nil {
			return err
		}
		switch {
		case p.Unit.Kind != f.Kind:
			p.Refused = fmt.Sprintf("The file is of a %s, this unit is a %s.", f.Kind, p.Unit.Kind)
		case !customer.SameSerial(p.Unit.Serial, f.Serial):
			p.Refused = fmt.Sprintf("The file is of serial %s, this unit has %s.", f.Serial, p.Unit.Serial)
		}
	} else if err := p.bySerial(ctx, q); err != nil || p.Refused != "" {
		return err
	}
	whose := p.CustomerID
	if p.Unit.ID != 0 {
		whose = p.Unit.CustomerID
	}
	p.Customer, err = customer.Get(ctx, q, whose)
	return err
}

func (p *Plan) bySerial(ctx context.Context, q db.Querier) error {
	list, err := customer.OfSerial(ctx, q, p.File.Unit.Kind, p.File.Unit.Serial)
	if err != nil {
		return err
	}
	switch {
	case len(list) > 1:
		p.Refused = "Several units here have this serial. Read the file in from the page of the one it is."
	case len(list) == 1:
		p.Unit = list[0]
		if p.CustomerID == 0 {
			return nil
		}
		now, err := customer.Get(ctx, q, p.CustomerID)
		if err == nil && now.ID != p.Unit.CustomerID {
			p.Refused = "The unit with this serial is somebody else’s here. Read the file in from its page."
		}
		return err
	case p.CustomerID == 0:
		p.Refused = "No unit here has this serial. Read the file in from the page of the unit, or of the customer who brings it."
	}
	return nil
}

// Take reads in a file as Look showed it, all or nothing, and says of which unit
// it is; shown is the unit that Look found, 0 for a new one. Where that has
// changed since it is a Conflict.
func Take(ctx context.Context, tx pgx.Tx, by history.By, id, shown int64) (unitID int64, err error) {
	if err := mayRead(by); err != nil {
		return 0, err
	}
	p, err := Look(ctx, tx, id, by.Staff, by.At)
	if err != nil {
		return 0, err
	}
	switch {
	case p.Refused != "":
		return 0, fault.Conflict(p.Refused)
	case p.Unit.ID != shown:
		return 0, fault.Conflict("Another unit has this serial since you looked. Nothing was taken: look again.")
	case !p.Any():
		return 0, fault.Conflict("All that the file has stands in the book already, or was taken back.")
	}
	if unitID = p.Unit.ID; unitID == 0 {
		if unitID, err = p.addUnit(ctx, tx, by); err != nil {
			return 0, err
		}
	}
	if err := p.keep(ctx, tx, by, unitID); err != nil {
		return 0, fmt.Errorf("take in service book: %w", err)
	}
	if _, err := tx.Exec(ctx, "delete from book_file where id = $1", id); err != nil {
		return 0, fmt.Errorf("take in service book: %w", err)
	}
	return unitID, history.Append(ctx, tx, by, history.Event{SubjectKind: "unit", SubjectID: unitID, Customer: p.Customer.ID, Unit: unitID,
		Kind: readIn, Detail: map[string]any{"services": len(p.Works), "readings": p.Readings(), "hours": len(p.Hours)}})
}

// addUnit keeps a unit of a model of the library where one alone has its maker and
// name, else in as many words of the file as a unit may have.
func (p Plan) addUnit(ctx context.Context, tx pgx.Tx, by history.By) (int64, error) {
	f := p.File.Unit
	models, err := spec.Models(ctx, tx)
	if err != nil {
		return 0, err
	}
	models = slices.DeleteFunc(models, func(m spec.Model) bool {
		return m.Kind != f.Kind || !strings.EqualFold(m.Maker, f.Maker) || !strings.EqualFold(m.Name, f.Model)
	})
	d := customer.UnitDetails{Kind: f.Kind, ModelWords: shortened(f.Name(), customer.MostShort), Serial: f.Serial, SerialSure: true}
	if len(models) == 1 {
		d.ModelID = models[0].ID
	}
	id, err := customer.AddUnit(ctx, tx, by, p.Customer.ID, d)
	var wrong *fault.Invalid
	if errors.As(err, &wrong) {
		return 0, fault.Conflict("The unit of the file cannot be kept: correct it here first.")
	}
	return id, err
}

// keep writes the works and the ride hours that are new.
func (p Plan) keep(ctx context.Context, tx pgx.Tx, by history.By, unitID int64) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	batch := &pgx.Batch{}
	for _, w := range slices.Backward(p.Works) { // the oldest first
		lists := make([]string, 4)
		for i, list := range []any{orNone(w.Services), orNone(w.Found), orNone(w.Readings), orNone(w.Settings)} {
			text, err := json.Marshal(list)
			if err != nil {
				return err
			}
			lists[i] = string(text)
		}
		batch.Queue(`insert into elsewhere_service (unit_id, ref, day, shop, services, found, readings, settings, actor_id, intent_id, at)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
			unitID, w.Ref, w.Day.Time, w.Shop, lists[0], lists[1], lists[2], lists[3], by.Staff, by.Intent, by.At)
	}
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return db.Translate(err)
	}
	var said []interval.Reading
	for _, r := range p.Hours {
		reading := interval.Reading{Kind: r.Kind, Hours: r.Hours, RidesAWeek: r.RidesAWeek, HoursARide: r.HoursARide,
			Season: cmp.Or(r.Season, interval.AllYear), IndoorHours: r.IndoorHours, Conditions: r.Conditions, Source: r.Source,
			At: noon(r.On.Time, settings.Location())}
		if r.Since != nil {
			reading.Since = &r.Since.Time
		}
		if r.ReadOn != nil {
			reading.OnDay = &r.ReadOn.Time
		}
		said = append(said, reading)
	}
	return interval.Bring(ctx, tx, by, unitID, said)
}

func noon(day time.Time, zone *time.Location) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), 12, 0, 0, 0, zone)
}

// orNone is an empty list in JSON, not null.
func orNone[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
