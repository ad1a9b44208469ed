package customer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// Kinds of unit, forks first as they come.
var Kinds = []string{"fork", "rear shock", "seatpost"}

// UnitDetails is what is known of a unit: a model of the library (ModelID, 0
// for none) or own words, and the bike it comes off as far as known.
type UnitDetails struct {
	Kind       string
	ModelID    int64
	ModelWords string
	Serial     string
	// SerialSure says that another unit's serial was asked about and is right.
	SerialSure bool
	Tag        string // the shop's own number, for a serial that cannot be read
	BikeWords  string
	BikeColour string
	FrameNo    string
}

// Unit is a unit as kept. Name is maker and model, or the own words.
type Unit struct {
	ID         int64
	Kind       string
	CustomerID int64
	ModelID    int64 // 0: not in the library
	Name       string
	Serial     string
	Tag        string
	BikeID     int64 // 0: not known
	BikeWords  string
	BikeColour string
	FrameNo    string
	TravelMM   int    // 0: not known
	Spring     string // empty: not known
	OpenJob    int    // ticket number, 0: not here
	OpenJobID  int64
	LastAt     *time.Time // when it was last brought
	Version    int
}

// Tidy is d without stray spaces. Own words give way to a model.
func (d UnitDetails) Tidy() UnitDetails {
	for _, s := range []*string{&d.ModelWords, &d.Serial, &d.Tag, &d.BikeWords, &d.BikeColour, &d.FrameNo} {
		*s = oneLine(*s)
	}
	if d.ModelID != 0 {
		d.ModelWords = ""
	}
	return d
}

// WithMeasured are own words with what was measured after them, as far as there
// is room for it.
func WithMeasured(words string, measured func(most int) string) string {
	words = oneLine(words)
	if words == "" {
		return measured(MostShort)
	}
	if m := measured(MostShort - utf8.RuneCountInString(words) - 2); m != "" && !strings.Contains(words, m) {
		return words + ", " + m
	}
	return words
}

func (d UnitDetails) check() map[string]string {
	faults := map[string]string{}
	if !slices.Contains(Kinds, d.Kind) {
		faults["kind"] = "Choose what it is: " + strings.Join(Kinds, ", ") + "."
	}
	if d.ModelID == 0 && d.ModelWords == "" {
		faults["model"] = "Choose a model or say in your own words what it is."
	}
	for field, words := range map[string]string{"model": d.ModelWords, "serial": d.Serial, "tag": d.Tag,
		"bike": d.BikeWords, "colour": d.BikeColour, "frame": d.FrameNo} {
		if utf8.RuneCountInString(words) > MostShort {
			faults[field] = fmt.Sprintf("That is too long: at most %d characters.", MostShort)
		}
	}
	return faults
}

// CheckUnit says by field ("kind", "model", "serial", "tag", "bike", "colour",
// "frame") what cannot be taken of a unit; empty when all is well. Unit is the
// id of the one that is to be so, 0 for a new one.
func CheckUnit(ctx context.Context, q db.Querier, unit int64, d UnitDetails) (map[string]string, error) {
	d = d.Tidy()
	faults := d.check()
	if d.ModelID != 0 {
		var kind string
		err := q.QueryRow(ctx, "select kind from model where id = $1", d.ModelID).Scan(&kind)
		switch {
		case errors.Is(err, pgx.ErrNoRows):
			faults["model"] = "That model is not in the library: choose another or use your own words."
		case err != nil:
			return nil, fmt.Errorf("check unit: %w", err)
		case kind != d.Kind && faults["kind"] == "":
			faults["model"] = fmt.Sprintf("That model is a %s, not a %s.", kind, d.Kind)
		}
	}
	if d.Tag != "" {
		var taken bool
		err := q.QueryRow(ctx, "select exists (select from unit where tag <> '' and lower(tag) = lower($1) and id <> $2)", d.Tag, unit).Scan(&taken)
		if err != nil {
			return nil, fmt.Errorf("check unit: %w", err)
		}
		if taken {
			faults["tag"] = "Another unit carries that tag number."
		}
	}
	if faults["serial"] == "" && !d.SerialSure {
		other, err := ofSerial(ctx, q, unit, d)
		if err != nil {
			return nil, fmt.Errorf("check unit: %w", err)
		}
		if other != "" {
			faults["serial"] = other + " has this serial. If it is the same one, choose it instead; else check the number, or confirm it."
		}
	}
	return faults, nil
}

// ofSerial names another unit of that kind and serial, and whose it is; empty
// where there is none, or the unit had that serial before. Words without a
// digit, such as "worn off", are no serial.
func ofSerial(ctx context.Context, q db.Querier, unit int64, d UnitDetails) (string, error) {
	var name string
	err := q.QueryRow(ctx, `select 'The ' || coalesce(m.maker || ' ' || m.name, u.model_words) || ' of ' || c.name
		from unit u join customer c on c.id = u.customer_id left join model m on m.id = u.model_id
		where u.serial_key = $1 and $1 ~ '[0-9]' and u.kind = $2 and u.id <> $3
			and not exists (select from unit where id = $3 and serial_key = $1)
		order by u.id limit 1`, d.keys().serial, d.Kind, unit).Scan(&name)
	if errors.Is(err, pgx.ErrNoRows) {
		return "", nil
	}
	return name, err
}

// AddUnit keeps a new unit of a customer.
func AddUnit(ctx context.Context, tx pgx.Tx, by history.By, customerID int64, d UnitDetails) (int64, error) {
	customerID, d, err := readyToKeep(ctx, tx, customerID, 0, d)
	if err != nil {
		return 0, err
	}
	bike, err := keepBike(ctx, tx, customerID, d)
	if err != nil {
		return 0, err
	}
	k := d.keys()
	var id int64
	err = tx.QueryRow(ctx, `insert into unit (kind, customer_id, bike_id, model_id, model_words, serial, tag,
			words_key, serial_key, tag_key, frame_key, grams, keyed)
		values ($1, $2, nullif($3, 0::bigint), nullif($4, 0::bigint), $5, $6, $7, $8, $9, $10, $11, $12, $13) returning id`,
		d.Kind, customerID, bike, d.ModelID, d.ModelWords, d.Serial, d.Tag, k.words, k.serial, k.tag, k.frame, k.grams, keying).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add unit: %w", err)
	}
	return id, history.Append(ctx, tx, by, history.Event{
		SubjectKind: "unit", SubjectID: id, Customer: customerID, Unit: id, Kind: "unit added",
		Detail: map[string]any{"kind": d.Kind, "model": d.ModelID}})
}

// UpdateUnit changes what is known of a unit that is still at the version the
// person saw; its kind stays. What is said of its bike corrects that bike, for
// the other units off it too, unless the unit is moved to another one.
func UpdateUnit(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, d UnitDetails, moved bool) error {
	old, err := GetUnit(ctx, tx, id)
	if err != nil {
		return err
	}
	d.Kind = old.Kind
	if _, d, err = readyToKeep(ctx, tx, old.CustomerID, id, d); err != nil {
		return err
	}
	bike := old.BikeID
	if bike == 0 || moved {
		bike, err = keepBike(ctx, tx, old.CustomerID, d)
	} else if d.BikeWords != old.BikeWords || d.BikeColour != old.BikeColour || d.FrameNo != old.FrameNo {
		err = mendBike(ctx, tx, by, old, d)
	}
	if err != nil {
		return err
	}
	k := d.keys()
	err = db.Changed(tx.Exec(ctx, `update unit set bike_id = nullif($3, 0::bigint),
			model_id = nullif($4, 0::bigint), model_words = $5, serial = $6, tag = $7,
			words_key = $8, serial_key = $9, tag_key = $10, frame_key = $11, grams = $12, keyed = $13, version = version + 1
		where id = $1 and version = $2`,
		id, version, bike, d.ModelID, d.ModelWords, d.Serial, d.Tag, k.words, k.serial, k.tag, k.frame, k.grams, keying))
	if err != nil {
		return fmt.Errorf("change unit: %w", err)
	}
	return old.changed(ctx, tx, by)
}

func (u Unit) changed(ctx context.Context, tx pgx.Tx, by history.By) error {
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "unit", SubjectID: u.ID, Customer: u.CustomerID, Unit: u.ID, Job: u.OpenJobID, Kind: "unit changed"})
}

// readyToKeep tidies and checks a unit, and says whose it is now.
func readyToKeep(ctx context.Context, tx pgx.Tx, customerID, unit int64, d UnitDetails) (int64, UnitDetails, error) {
	now, err := Now(ctx, tx, customerID)
	if err != nil {
		return 0, d, err
	}
	faults, err := CheckUnit(ctx, tx, unit, d)
	if err != nil {
		return 0, d, err
	}
	return now, d.Tidy(), invalid(faults)
}

// keepBike is the customer's bike of that description, kept now if it is new;
// 0 when nothing is known of it.
func keepBike(ctx context.Context, tx pgx.Tx, customerID int64, d UnitDetails) (int64, error) {
	if d.BikeWords == "" && d.BikeColour == "" && d.FrameNo == "" {
		return 0, nil
	}
	var id int64
	err := tx.QueryRow(ctx, `select id from bike
		where customer_id = $1 and lower(words) = lower($2) and lower(colour) = lower($3) and lower(frame_no) = lower($4)
		order by id limit 1`, customerID, d.BikeWords, d.BikeColour, d.FrameNo).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		err = tx.QueryRow(ctx, `insert into bike (customer_id, words, colour, frame_no)
			values ($1, $2, $3, $4) returning id`, customerID, d.BikeWords, d.BikeColour, d.FrameNo).Scan(&id)
	}
	if err != nil {
		return 0, fmt.Errorf("keep bike: %w", err)
	}
	return id, nil
}

// mendBike says of the bike of a unit what d says of it. The other units off it
// are found by that from now on, and whoever has one of them open sees that it
// changed.
func mendBike(ctx context.Context, tx pgx.Tx, by history.By, u Unit, d UnitDetails) error {
	_, err := tx.Exec(ctx, "update bike set words = $2, colour = $3, frame_no = $4, version = version + 1 where id = $1",
		u.BikeID, d.BikeWords, d.BikeColour, d.FrameNo)
	if err != nil {
		return fmt.Errorf("mend bike: %w", err)
	}
	others, err := Beside(ctx, tx, u)
	if err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "update unit set keyed = 0, version = version + 1 where customer_id = $1 and bike_id = $2 and id <> $3", u.CustomerID, u.BikeID, u.ID); err != nil {
		return fmt.Errorf("mend bike: %w", err)
	}
	if _, err := rekeyUnits(ctx, tx); err != nil {
		return fmt.Errorf("mend bike: %w", err)
	}
	for _, other := range others {
		if err := other.changed(ctx, tx, by); err != nil {
			return err
		}
	}
	return nil
}

const unitSQL = `select u.id, u.kind, u.customer_id, coalesce(u.model_id, 0) as model_id,
		coalesce(m.maker || ' ' || m.name, u.model_words) as name, u.serial, u.tag,
		coalesce(u.bike_id, 0) as bike_id, coalesce(b.words, '') as bike_words, coalesce(b.colour, '') as bike_colour, coalesce(b.frame_no, '') as frame_no,
		coalesce(i.travel_mm, m.travel_mm, 0) as travel_mm, coalesce(i.spring, m.spring, '') as spring,
		coalesce(o.number, 0) as open_job, coalesce(o.id, 0) as open_job_id,
		(select max(j.opened_at) from job j where j.unit_id = u.id) as last_at, u.version
	from unit u
	left join model m on m.id = u.model_id
	left join lateral (select spring, travel_mm from unit_inside where unit_id = u.id order by id desc limit 1) i on true
	left join bike b on b.id = u.bike_id
	left join job o on o.unit_id = u.id and o.closed_at is null`

// Units lists the units of a customer, those brought last first.
func Units(ctx context.Context, q db.Querier, customerID int64) ([]Unit, error) {
	rows, err := q.Query(ctx, unitSQL+" where u.customer_id = $1 order by last_at desc nulls last, u.id", customerID)
	list, err := db.All[Unit](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read units: %w", err)
	}
	return list, nil
}

// UnitsByID lists the units of those ids, in that order.
func UnitsByID(ctx context.Context, q db.Querier, ids []int64) ([]Unit, error) {
	rows, err := q.Query(ctx, unitSQL+" where u.id = any ($1) order by array_position($1, u.id)", ids)
	list, err := db.All[Unit](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read units: %w", err)
	}
	return list, nil
}

// Beside lists the other units off the bike of a unit, none where it is not
// known.
func Beside(ctx context.Context, q db.Querier, u Unit) ([]Unit, error) {
	rows, err := q.Query(ctx, unitSQL+" where u.customer_id = $1 and u.bike_id = $2 and u.id <> $3 order by u.id", u.CustomerID, u.BikeID, u.ID)
	list, err := db.All[Unit](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read units off the same bike: %w", err)
	}
	return list, nil
}

// GetUnit reads one unit.
func GetUnit(ctx context.Context, q db.Querier, id int64) (Unit, error) {
	rows, err := q.Query(ctx, unitSQL+" where u.id = $1", id)
	u, err := db.One[Unit](rows, err, "unit")
	if err != nil {
		return Unit{}, fmt.Errorf("read unit: %w", err)
	}
	return u, nil
}
