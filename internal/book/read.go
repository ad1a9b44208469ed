package book

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
)

// Book is the service book of a unit.
type Book struct {
	Unit     customer.Unit
	Facts    Facts
	Shop     shop.Settings
	Works    []Work             // the newest first, here and elsewhere
	Readings []interval.Reading // with those that were taken back
	Due      []due.Row
}

// Read reads the service book of a unit at the moment now.
func Read(ctx context.Context, q db.Querier, unitID int64, now time.Time) (Book, error) {
	b, err := read(ctx, q, unitID, now)
	if err != nil {
		return Book{}, fmt.Errorf("read book of unit %d: %w", unitID, err)
	}
	return b, nil
}

func read(ctx context.Context, q db.Querier, unitID int64, now time.Time) (b Book, err error) {
	if b.Unit, err = customer.GetUnit(ctx, q, unitID); err != nil {
		return b, err
	}
	if b.Shop, err = shop.Get(ctx, q); err != nil {
		return b, err
	}
	if b.Facts, err = facts(ctx, q, b.Unit); err != nil {
		return b, err
	}
	here, err := b.here(ctx, q)
	if err != nil {
		return b, err
	}
	elsewhere, err := Elsewhere(ctx, q, unitID)
	if err != nil {
		return b, err
	}
	b.Works = slices.Concat(here, standing(elsewhere))
	slices.SortStableFunc(b.Works, func(x, y Work) int {
		return cmp.Or(y.Day.Compare(x.Day.Time), cmp.Compare(x.Ref, y.Ref))
	})
	if b.Readings, err = interval.Readings(ctx, q, unitID); err != nil {
		return b, err
	}
	b.Due, err = due.OfUnit(ctx, q, unitID, now)
	return b, err
}

// facts leave out the shop's own tag and the bike, which are of a person.
func facts(ctx context.Context, q db.Querier, u customer.Unit) (Facts, error) {
	f := Facts{Kind: u.Kind, Serial: u.Serial, Spring: u.Spring, TravelMM: u.TravelMM}
	if u.ModelID == 0 {
		f.Words = u.Name
		return f, nil
	}
	m, err := spec.GetModel(ctx, q, u.ModelID)
	f.Maker, f.Model = m.Maker, m.Name
	return f, err
}

// here are the jobs of the unit that ended done.
func (b Book) here(ctx context.Context, q db.Querier) ([]Work, error) {
	type row struct {
		ID      int64
		ReadyAt time.Time
		Own     bool
		Codes   []string
		Names   []string
		Act     string
	}
	rows, err := q.Query(ctx, `select j.id, coalesce(j.ready_at, j.closed_at) as ready_at, c.now_id = u.customer_id as own, s.codes, s.names, o.intent_id::text as act
		from job j join visit v on v.id = j.visit_id join customer_now c on c.id = v.customer_id join unit u on u.id = j.unit_id
		join stage_change o on o.job_id = j.id and o.seq = 1
		cross join lateral (select coalesce(array_agg(e.code order by e.seq, e.code), '{}') as codes, coalesce(array_agg(e.name order by e.seq, e.code), '{}') as names
			from job_service x join service e on e.code = x.service_code where x.job_id = j.id) s
		where j.unit_id = $1 and j.ending = 'done' order by j.id desc`, b.Unit.ID)
	jobs, err := db.All[row](rows, err)
	if err != nil {
		return nil, err
	}
	sheets, err := bench.SignedOfUnit(ctx, q, b.Unit.ID)
	if err != nil {
		return nil, err
	}
	found, err := bench.FoundOfUnit(ctx, q, b.Unit.ID)
	if err != nil {
		return nil, err
	}
	var list []Work
	for _, j := range jobs {
		w := Work{Ref: refOf(j.Act, j.ID), Day: Date{interval.Day(j.ReadyAt, b.Shop.Location())}, Shop: b.Shop.Name, Own: j.Own}
		for i, code := range j.Codes {
			w.Services = append(w.Services, Done{code, j.Names[i]})
		}
		w.measure(sheets[j.ID])
		for _, f := range found[j.ID] {
			w.Found = append(w.Found, foundOf(f, sheets[j.ID], j.Own))
		}
		list = append(list, w)
	}
	return list, nil
}

// refOf is the same wherever the file goes, and says nothing of the shop.
func refOf(act string, job int64) string {
	sum := sha256.Sum256([]byte(act + " " + strconv.FormatInt(job, 10)))
	return hex.EncodeToString(sum[:16])
}

// refsOf are those of all work that stands in the book of a unit, here and
// elsewhere.
func refsOf(ctx context.Context, q db.Querier, unitID int64) ([]string, error) {
	type row struct {
		Ref string
		Act string
		Job int64
	}
	rows, err := q.Query(ctx, `select e.ref, '' as act, 0::bigint as job from elsewhere_service e
			where e.unit_id = $1 and not exists (select from book_taken_back b where b.read_in = e.intent_id)
		union all select '', o.intent_id::text, j.id from job j join stage_change o on o.job_id = j.id and o.seq = 1
			where j.unit_id = $1 and j.ending = 'done'`, unitID)
	list, err := db.All[row](rows, err)
	var refs []string
	for _, r := range list {
		if r.Ref == "" {
			r.Ref = refOf(r.Act, r.Job)
		}
		refs = append(refs, r.Ref)
	}
	return refs, err
}

const somethingFound = "Something found"

// foundOf has the words that somebody typed only where they are the own of whoever
// has the unit; else those of our lists.
func foundOf(f bench.Finding, sheet bench.Sheet, own bool) Found {
	found := Found{Grade: f.Grade, PutRight: f.Answer == bench.PutRight, What: f.FromList()}
	if f.StepID != nil {
		if step := sheet.Find(*f.StepID); step != nil {
			found.Step = step.Key
			found.What = cmp.Or(found.What, step.Title)
		}
	}
	found.What = cmp.Or(found.What, somethingFound)
	if own {
		found.Words, found.How = f.Words, f.AnswerWords
	}
	return found
}

// notReadings are steps whose answers are no measurement of the unit: what the
// rider complained of, and the mechanic's word on riding.
var notReadings = []string{"A11", "V9"}

// measure takes readings and settings from a sheet.
func (w *Work) measure(sheet bench.Sheet) {
	if s := sheet.ByKey(PressureIn); s != nil && s.Done.Outcome == bench.OutcomeDone && s.Done.ValueSI != nil {
		r := Reading{Step: s.Key, What: "Pressure as received"}
		r.Quantity, r.Value, r.Unit, r.ShownIn = inSI(quantity.KindPressure, s.Done)
		w.Readings = append(w.Readings, r)
	}
	for _, s := range sheet.Measured() {
		graded := s.Kind == procedure.Check && len(s.Grades) > 0
		if slices.Contains(notReadings, s.Key) || s.InWords() || !graded && s.Kind != procedure.Reading && s.Kind != procedure.Count {
			continue
		}
		r := Reading{Step: s.Key, What: s.Title, Count: s.Done.Count, Grade: s.Done.Grade, Grades: s.Grades}
		r.Quantity, r.Value, r.Unit, r.ShownIn = inSI(s.Quantity, s.Done)
		w.Readings = append(w.Readings, r)
	}
	for _, s := range sheet.Settings() {
		back := s.Returned
		if back == nil || back.Outcome != bench.OutcomeDone || back.ValueSI == nil && back.Count == nil && back.Grade == "" {
			continue
		}
		set := Setting{Key: s.Key, Name: s.Name, Form: s.Form, Count: back.Count, Words: back.Grade}
		set.Quantity, set.Value, set.Unit, set.ShownIn = inSI(quantity.KindPressure, back)
		w.Settings = append(w.Settings, set)
	}
}

// PressureIn is the step at which the pressure is read as received.
const PressureIn = "A4"

// inSI is a value with the names of its quantity and units; without a value all
// are empty.
func inSI(kind quantity.Kind, so *bench.Signoff) (quantity.Kind, *float64, string, quantity.Unit) {
	m, known := measures[kind]
	if so.ValueSI == nil || !known {
		return "", nil, "", ""
	}
	return kind, so.ValueSI, m.unit, so.ShownUnit
}

// LastBack is the day on which a unit was last back from a service, here or
// elsewhere, today at the latest: another shop's day may be ahead. It is nil where
// none is known.
func LastBack(ctx context.Context, q db.Querier, unitID int64, today time.Time, zone *time.Location) (*time.Time, error) {
	day, ever, err := job.LastDone(ctx, q, unitID, zone)
	if err != nil {
		return nil, err
	}
	list, err := Elsewhere(ctx, q, unitID)
	if err != nil {
		return nil, err
	}
	if elsewhere := standing(list); len(elsewhere) > 0 && elsewhere[0].Day.After(day) {
		day, ever = elsewhere[0].Day.Time, true
	}
	switch {
	case !ever:
		return nil, nil
	case day.After(today):
		return &today, nil
	}
	return &day, nil
}

// standing are the works that were not taken back.
func standing(list []Work) []Work {
	return slices.DeleteFunc(slices.Clone(list), func(w Work) bool { return w.BackAt != nil })
}

// Elsewhere lists what other shops did on a unit, the newest first, with what was
// taken back.
func Elsewhere(ctx context.Context, q db.Querier, unitID int64) ([]Work, error) {
	type row struct {
		Ref      string
		Day      time.Time
		Shop     string
		Services []Done
		Found    []Found
		Readings []Reading
		Settings []Setting
		BackAt   *time.Time
	}
	rows, err := q.Query(ctx, `select e.ref, e.day, e.shop, e.services, e.found, e.readings, e.settings, b.at as back_at
		from elsewhere_service e left join book_taken_back b on b.read_in = e.intent_id
		where e.unit_id = $1 order by e.day desc, e.id desc`, unitID)
	list, err := db.All[row](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read services elsewhere: %w", err)
	}
	var works []Work
	for _, r := range list {
		works = append(works, Work{Ref: r.Ref, Day: Date{r.Day}, Shop: r.Shop, Services: r.Services, Found: r.Found,
			Readings: r.Readings, Settings: r.Settings, Elsewhere: true, BackAt: r.BackAt})
	}
	return works, nil
}
