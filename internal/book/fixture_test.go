package book_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

// desk is a shop of the north in London with the shipped services and rules, and
// a customer with a fork.
type desk struct {
	t        testing.TB
	tx       pgx.Tx
	by       history.By
	customer int64
	unit     int64
}

func newDesk(t testing.TB, name string) *desk {
	t.Helper()
	tx := dbtest.Tx(t)
	d := &desk{t: t, tx: tx, by: dbtest.By(t, tx, "desk", "mechanic", "owner")}
	d.must(procedure.Install(ctx, tx, d.by))
	d.must(interval.Install(ctx, tx, d.by))
	d.must(shop.Save(ctx, tx, d.by, shop.Settings{Name: name, Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
		TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"}))
	var err error
	d.customer, err = customer.Add(ctx, tx, d.by, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
	d.must(err)
	return d
}

func (d *desk) addFork() {
	d.t.Helper()
	var err error
	d.unit, err = customer.AddUnit(ctx, d.tx, d.by, d.customer, customer.UnitDetails{Kind: "fork", ModelWords: "Tindra Lode 140", Serial: "TL-48 211", Tag: "T7", BikeWords: "Odette’s hardtail"})
	d.must(err)
}

func (d *desk) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

func day(text string) time.Time {
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return at
}

func (d *desk) on(date string) history.By {
	by := dbtest.Act(d.t, d.tx, d.by)
	by.At = day(date).Add(12 * time.Hour)
	return by
}

// serve brings the fork for services, which are done and picked up the same day,
// with what was read on it: the bench's rows are written as they lie.
func (d *desk) serve(date string, psi float64, play string, services ...string) int64 {
	d.t.Helper()
	by := d.on(date)
	visit, err := job.TakeIn(ctx, d.tx, by, job.DropOff{CustomerID: d.customer, PromisedAt: by.At.Add(48 * time.Hour), Currency: "GBP",
		Units: []job.DropOffUnit{{UnitID: d.unit, Services: services, Complaint: "groans, says Odette"}}})
	d.must(err)
	v, err := job.Visit(ctx, d.tx, visit)
	d.must(err)
	id := v.Jobs[0].ID
	for i, s := range []struct {
		key, kind, title, quantity, specKey, grades, unit string
		value, count                                      any
		grade                                             string
	}{
		{"A4", "reading", "Read the pressure as received", "pressure", "rider pressure", "{}", "psi", psi * 6894.757293168361, nil, ""},
		{"A6", "check", "Grade bushing play at three heights", "", "", "{none,felt,seen,knocks}", "", nil, nil, play},
		{"A11", "check", "Try to reproduce the complaint", "", "", "{no complaint,felt here too}", "", nil, nil, "felt here too"},
		{"P2", "count", "Take the top cap off, count the spacers", "count", "volume spacers", "{}", "", nil, 2.0, ""},
		{"Z9", "torque", "Foot bolt", "torque", "foot bolt", "{}", "N·m", 7.3, nil, ""},
		{"V2", "reading", "Charge and read the pressure as returned", "pressure", "rider pressure", "{}", "psi", 82 * 6894.757293168361, nil, ""},
		{"V3.rebound", "count", "Set rebound as returned", "count", "rebound clicks", "{}", "", nil, 7.0, ""},
		{"V9", "check", "Note for the rider", "", "", "{safe to ride,do not ride}", "", nil, nil, "safe to ride"},
	} {
		var step int64
		d.must(d.tx.QueryRow(ctx, `insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, quantity, spec_key, grades, shown_unit, intent_id, at)
			values ($1, $2, 'A', 'A', $3, $4, $5, '', $6, $7, $8::text[], $9, $10, $11) returning id`,
			id, i+1, s.key, s.kind, s.title, s.quantity, s.specKey, s.grades, s.unit, by.Intent, by.At).Scan(&step))
		_, err := d.tx.Exec(ctx, `insert into signoff (step_id, role, outcome, how, value_si, count, grade, entered, shown_unit, in_window, actor_id, intent_id, at)
			values ($1, 'done', 'done', 'seen', $2, $3, $4, '', $5, true, $6, $7, $8)`, step, s.value, s.count, s.grade, s.unit, by.Staff, by.Intent, by.At)
		d.must(err)
		if s.key == "A6" && play == "knocks" {
			d.find(id, step, date, "Bushing play: knocks", "needs doing")
			d.find(id, step, date, "scratched by Odette’s dog", "note")
		}
	}
	for _, stage := range []string{job.InQueue, job.OnBench, job.FinalCheck, job.Ready} {
		d.must(job.Move(ctx, d.tx, d.on(date), id, stage, ""))
	}
	d.must(job.HandOver(ctx, d.tx, d.on(date), id, ""))
	return id
}

func (d *desk) find(job, step int64, date, words, grade string) {
	d.t.Helper()
	by := d.on(date)
	_, err := d.tx.Exec(ctx, `insert into finding (job_id, step_id, grade, cause, words, actor_id, intent_id, at) values ($1, $2, $3, 'found so', $4, $5, $6, $7)`,
		job, step, grade, words, by.Staff, by.Intent, by.At)
	d.must(err)
}

func (d *desk) book(date string) book.Book {
	d.t.Helper()
	b, err := book.Read(ctx, d.tx, d.unit, day(date))
	d.must(err)
	return b
}

func (d *desk) export(date string) []byte {
	d.t.Helper()
	content, err := d.book(date).File(day(date)).JSON()
	d.must(err)
	return content
}

// bring keeps a file for the customer, and says its id.
func (d *desk) bring(date string, content []byte, unit int64) int64 {
	d.t.Helper()
	b := book.Brought{Name: "book.json", Content: content, UnitID: unit}
	if unit == 0 {
		b.CustomerID = d.customer
	}
	id, err := book.Bring(ctx, d.tx, d.on(date), b)
	d.must(err)
	return id
}

func (d *desk) look(date string, id int64) book.Plan {
	d.t.Helper()
	p, err := book.Look(ctx, d.tx, id, d.by.Staff, day(date))
	d.must(err)
	return p
}

func (d *desk) take(date string, id, shown int64) {
	d.t.Helper()
	unit, err := book.Take(ctx, d.tx, d.on(date), id, shown)
	d.must(err)
	d.unit = unit
}

func works(list []book.Work) (words []string) {
	for _, w := range list {
		words = append(words, fmt.Sprintf("%s %s %v elsewhere %v", w.Day.Format(time.DateOnly), w.Shop, w.Services, w.Elsewhere))
	}
	return words
}
