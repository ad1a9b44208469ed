package letter_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/letter"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var (
	ctx = context.Background()
	key = []byte("0123456789abcdef0123456789abcdef")
)

const base = "https://desk.example.org"

// desk is a shop in London whose customer brought two forks. All of it is
// invented.
type desk struct {
	t     *testing.T
	tx    pgx.Tx
	by    history.By
	late  time.Duration // after dbtest.Now
	visit int64
	jobs  []job.Job
}

func open(t *testing.T) *desk {
	t.Helper()
	d := &desk{t: t, tx: dbtest.Tx(t)}
	d.by = dbtest.By(t, d.tx, "desk", "mechanic", "owner")
	d.must(procedure.Install(ctx, d.tx, d.by))
	d.must(interval.Install(ctx, d.tx, d.act()))
	d.must(shop.Save(ctx, d.tx, d.act(), shop.Settings{Name: "Weir Lane Cycles", Phone: "07700 900 333", Address: "1 Weir Lane\nSill", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
		TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"}))
	d.must(bill.SetTaxRate(ctx, d.tx, d.act(), bill.TaxRate{Name: "full rate", BP: 2000}))
	price := int64(6000)
	d.must(bill.SetPrices(ctx, d.tx, d.act(), []bill.Price{{ServiceCode: "lower-leg", Minor: &price, Currency: "GBP", TaxCode: "A"}}))
	fork := func(words string) job.DropOffUnit {
		return job.DropOffUnit{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: words}, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}
	}
	id, err := job.TakeIn(ctx, d.tx, d.act(), job.DropOff{
		NewCustomer: customer.Details{Name: "Mirela Anttonen", Phone: "07700 900 140", Mail: "mirela@example.com"},
		PromisedAt:  dbtest.Now.Add(48 * time.Hour), Currency: "GBP", Units: []job.DropOffUnit{fork("Sill 34"), fork("Kelp 120")}})
	d.must(err)
	d.visit = id
	v, err := job.Visit(ctx, d.tx, id)
	d.must(err)
	d.jobs = v.Jobs
	return d
}

func (d *desk) act() history.By {
	by := dbtest.Act(d.t, d.tx, d.by)
	by.At = dbtest.Now.Add(d.late)
	return by
}

func (d *desk) must(err error) {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
}

func (d *desk) bring(j job.Job, stages ...string) {
	d.t.Helper()
	for _, stage := range stages {
		d.must(job.Move(ctx, d.tx, d.act(), j.ID, stage, "it weeps"))
	}
}

var toReady = []string{job.InQueue, job.OnBench, job.FinalCheck, job.Ready}

func (d *desk) propose(j job.Job, words string, minor int64, ready *time.Time) {
	d.t.Helper()
	d.must(bench.AddFinding(ctx, d.tx, d.act(), j.ID, bench.Found{Grade: bench.FoundDue, Cause: bench.FoundSo, Words: "the shop’s words of " + words}))
	list, err := bench.Findings(ctx, d.tx, j.ID)
	d.must(err)
	n := goahead.New{FindingID: list[len(list)-1].ID, Words: words, Minor: minor}
	if ready != nil {
		day := time.Date(ready.Year(), ready.Month(), ready.Day(), 0, 0, 0, 0, time.UTC)
		n.ReadyOn, n.ReadyAt = &day, ready
	}
	d.must(goahead.Propose(ctx, d.tx, d.act(), false, n))
}

// of is the newest message of a kind, as whoever sends takes it.
func (d *desk) of(kind message.Kind) message.Message {
	d.t.Helper()
	m := message.Message{Kind: kind}
	err := d.tx.QueryRow(ctx, `select id, customer_id, coalesce(visit_id, 0), coalesce(unit_id, 0), coalesce(service_code, ''), cause, at
		from message where kind = $1 order by id desc limit 1`, kind).Scan(&m.ID, &m.CustomerID, &m.VisitID, &m.UnitID, &m.Service, &m.Cause, &m.At)
	d.must(err)
	return m
}

func (d *desk) write(kind message.Kind) (message.Letter, error) {
	d.t.Helper()
	return letter.Write(ctx, d.tx, d.act(), key, base, d.of(kind))
}

// wants a letter that says each of these, in this order.
func (d *desk) wants(rule string, kind message.Kind, subject string, says ...string) string {
	d.t.Helper()
	l, err := d.write(kind)
	if err != nil || l.Subject != subject || strings.Contains(l.Text, "{") {
		d.t.Fatalf("%s: %q, %v\n%s", rule, l.Subject, err, l.Text)
	}
	rest := l.Text
	for _, words := range says {
		at := strings.Index(rest, words)
		if at < 0 {
			d.t.Fatalf("%s: it does not say %q, or not in that order:\n%s", rule, words, l.Text)
		}
		rest = rest[at+len(words):]
	}
	return l.Text
}

func (d *desk) wantsMoot(rule string, kind message.Kind) {
	d.t.Helper()
	if l, err := d.write(kind); !errors.Is(err, message.ErrMoot) {
		d.t.Errorf("%s: %v, it says\n%s", rule, err, l.Text)
	}
}

func TestTheLettersOfAVisit(t *testing.T) {
	d := open(t)
	text := d.wants("received", message.Received, "Weir Lane Cycles: we have your Sill 34 and Kelp 120",
		"Hello Mirela,", "Sill 34 and Kelp 120, tickets ", "Promised for ", base+"/c/", "Ring us on 07700 900 333.", "1 Weir Lane, Sill")
	_, token, _ := strings.Cut(text, base+"/c/")
	token, _, _ = strings.Cut(token, "\n")
	if visit, err := link.Open(ctx, d.tx, token, dbtest.Now.AddDate(1, 0, 0)); err != nil || visit != d.visit {
		t.Errorf("the address opens visit %d, %v; want %d, a year later still", visit, err, d.visit)
	}
	d.bring(d.jobs[0], toReady[:2]...)
	day := dbtest.Now.Add(96 * time.Hour)
	d.propose(d.jobs[0], "new wipers", 2800, &day)
	d.propose(d.jobs[0], "new bushings", 9000, nil)
	text = d.wants("two of one act and another", message.GoAhead, "Weir Lane Cycles: may we go on with your Sill 34 and Kelp 120?",
		"Sill 34: new wipers, £28.00\nSill 34: new bushings, £90.00", "comes to £262.00, tax in", "With all of it, the work is done by", "before you say yes")
	if strings.Contains(text, "the shop’s words") {
		t.Errorf("it says what the shop wrote for itself:\n%s", text)
	}
	for i, yes := range []bool{true, false} {
		list, err := goahead.OfVisit(ctx, d.tx, d.visit)
		d.must(err)
		d.must(goahead.Answer(ctx, d.tx, d.act(), goahead.Said{ProposalID: list[i].ID, Yes: yes, How: "by phone", Who: "Mirela"}))
	}
	d.wantsMoot("both are answered", message.GoAhead)
	d.wants("it moved with a yes", message.Moved, "Weir Lane Cycles: a new day for your Sill 34 and Kelp 120",
		"The day goes with the work you agreed to.", "The new day is ")
	d.bring(d.jobs[0], toReady[2:]...)
	d.wants("one of two is done", message.Received, "Weir Lane Cycles: we have your Sill 34 and Kelp 120")
	d.bring(d.jobs[1], toReady...)
	d.wantsMoot("all is done", message.Received)
	d.wantsMoot("no day is of interest any more", message.Moved)
	d.wants("all is done", message.Ready, "Weir Lane Cycles: the work on your Sill 34 and Kelp 120 is done",
		"Hello Mirela,", "The work on your", "You can pick it up.", base+"/c/", "checks before you ride", "do not ride it.", "07700 900 333")
	d.bring(d.jobs[1], job.FinalCheck)
	d.wantsMoot("one was opened again", message.Ready)
}

func TestWhatIsNotToBeRiddenIsSaidFirst(t *testing.T) {
	d := open(t)
	d.bring(d.jobs[0], toReady[:2]...)
	d.must(bench.AddFinding(ctx, d.tx, d.act(), d.jobs[0].ID, bench.Found{Grade: bench.FoundUnsafe, Cause: bench.FoundSo, Words: "cracked crown"}))
	d.bring(d.jobs[0], toReady[2:]...)
	d.must(job.Cancel(ctx, d.tx, d.act(), d.jobs[1].ID, "returned undone", ""))
	text := d.wants("ready, and not safe", message.Ready, "Weir Lane Cycles: the work on your Sill 34 is done",
		"Hello Mirela,\n\nDo not ride your Sill 34 as it is.", "The work on your Sill 34")
	if strings.Contains(text, "cracked") || strings.Contains(text, "Kelp") {
		t.Errorf("it says more than that:\n%s", text)
	}
	d.late = 8 * 24 * time.Hour
	if n, err := job.TellStillHere(ctx, d.tx, d.act()); n != 1 || err != nil {
		t.Fatalf("%d are told that it is still here, %v", n, err)
	}
	d.wants("not fetched", message.StillHere, "Weir Lane Cycles: still here, your Sill 34", "done for 8 days", "Do not ride your Sill 34")
	d.must(job.HandOver(ctx, d.tx, d.act(), d.jobs[0].ID, ""))
	d.wantsMoot("fetched", message.StillHere)
	d.wantsMoot("handed over before it was sent", message.Ready)
	d.late += 9 * 24 * time.Hour
	d.wantsMoot("nobody is asked of a first ride on what is not to be ridden", message.FirstRide)
}

func TestTheFirstRideIsAskedForUnlessItIsBack(t *testing.T) {
	d := open(t)
	d.must(message.Say(ctx, d.tx, d.act(), d.jobs[0].CustomerID, message.FirstRide, true, "desk"))
	for _, j := range d.jobs {
		d.bring(j, toReady...)
		d.must(job.HandOver(ctx, d.tx, d.act(), j.ID, ""))
	}
	d.late = 10 * 24 * time.Hour
	d.wants("after ten days", message.FirstRide, "Weir Lane Cycles: how was the first ride?", "ridden your Sill 34 and Kelp 120", "do not ride it", "again after 50 hours")
	_, err := job.TakeIn(ctx, d.tx, d.act(), job.DropOff{CustomerID: d.jobs[0].CustomerID, PromisedAt: dbtest.Now.AddDate(0, 1, 0), Currency: "GBP",
		Units: []job.DropOffUnit{{UnitID: d.jobs[0].UnitID, Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}}})
	d.must(err)
	m := d.of(message.FirstRide)
	l, err := letter.Write(ctx, d.tx, d.act(), key, base, m)
	if err != nil || strings.Contains(l.Text, "Sill 34") || !strings.Contains(l.Text, "Kelp 120") {
		t.Errorf("one of two is back: %v\n%s", err, l.Text)
	}
	buyer, err := customer.Add(ctx, d.tx, d.act(), customer.Details{Name: "Ilmari Brook", Phone: "07700 900 141"})
	d.must(err)
	_, err = d.tx.Exec(ctx, "savepoint unsold")
	d.must(err)
	d.must(customer.Sell(ctx, d.tx, d.act(), d.jobs[1].UnitID, buyer, time.UTC))
	d.wantsMoot("and the other is sold", message.FirstRide)
	_, err = d.tx.Exec(ctx, "rollback to unsold")
	d.must(err)
	d.late += 4 * 24 * time.Hour
	d.wants("after a long weekend", message.FirstRide, "Weir Lane Cycles: how was the first ride?")
	d.late += 25 * time.Hour
	d.wantsMoot("more than five days late is no news", message.FirstRide)
}

func TestTheOldDayIsTheOneThatWasHeard(t *testing.T) {
	d := open(t)
	move := func(days int) {
		t.Helper()
		v, err := job.Visit(ctx, d.tx, d.visit)
		d.must(err)
		d.must(job.MovePromise(ctx, d.tx, d.act(), d.visit, v.Version, dbtest.Now.Add(time.Duration(days)*24*time.Hour), "parts", job.Foreseen{}, time.UTC))
	}
	day := func(days int) string {
		return dbtest.Now.Add(time.Duration(days) * 24 * time.Hour).Format("Monday 2 January")
	}
	move(3)
	move(5)
	d.wants("moved twice before it was sent", message.Moved, "Weir Lane Cycles: a new day for your Sill 34 and Kelp 120",
		"for "+day(2), "We cannot keep that, and are sorry.", "new day is "+day(5))
	d.must(message.Tell(ctx, d.tx, d.act(), d.of(message.Moved).ID))
	move(4)
	d.wants("told by voice, and sooner", message.Moved, "Weir Lane Cycles: a new day for your Sill 34 and Kelp 120",
		"for "+day(5), "We are done sooner than we said.", "new day is "+day(4))
	move(5)
	d.wantsMoot("and back before that was sent", message.Moved)
}

func TestWordsOfTheShop(t *testing.T) {
	d := open(t)
	set := func(by history.By, version int, body string) error {
		return letter.Set(ctx, d.tx, by, letter.Template{Kind: message.Received, Words: letter.Words{Subject: "{shop}", Body: body}, Version: version})
	}
	var invalid *fault.Invalid
	if err := set(d.act(), 0, "{frist name}"); !errors.As(err, &invalid) || invalid.Fields["body"] == "" {
		t.Errorf("misspelt: %v", err)
	}
	mechanic := d.act()
	mechanic.Roles = []string{"mechanic", "desk"}
	if err := set(mechanic, 0, "x"); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("by a mechanic: %v", err)
	}
	d.must(set(d.act(), 0, "Hei {first name}"))
	if err := set(d.act(), 0, "x"); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("twice as the first: %v", err)
	}
	d.must(set(d.act(), 1, "Terve {first name}"))
	if err := set(d.act(), 1, "x"); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("over an older one: %v", err)
	}
	d.wants("in the shop’s words", message.Received, "Weir Lane Cycles", "Terve Mirela")
	d.must(letter.Back(ctx, d.tx, d.act(), message.Received, 2))
	d.wants("back", message.Received, "Weir Lane Cycles: we have your Sill 34 and Kelp 120", "Hello Mirela,")
}

func TestAPreviewChangesNothing(t *testing.T) {
	d := open(t)
	count := func() (n int) {
		d.must(d.tx.QueryRow(ctx, "select (select count(*) from link) + (select count(*) from event) + (select count(*) from message)").Scan(&n))
		return n
	}
	before := count()
	for _, kind := range message.Kinds {
		s, ok, err := letter.SampleOf(ctx, d.tx, dbtest.Now, kind, 0)
		d.must(err)
		if ok != (kind == message.Received) {
			t.Errorf("%s: a job fits %v", kind, ok)
		}
		if s, ok, err = letter.SampleOf(ctx, d.tx, dbtest.Now, kind, d.jobs[0].Number); err != nil || !ok && kind != message.DueSoon {
			t.Fatalf("%s of that ticket: %v, %v", kind, ok, err)
		}
		if !ok {
			continue
		}
		l, moot, err := letter.Preview(ctx, d.tx, dbtest.Now, base+"/c/secret", letter.Shipped(kind), s.Message)
		if err != nil || strings.Contains(l.Text, "{") || moot != (kind != message.Received) {
			t.Errorf("%s: moot %v, %v\n%s", kind, moot, err, l.Text)
		}
	}
	if _, ok, _ := letter.SampleOf(ctx, d.tx, dbtest.Now, message.Ready, 999_999); ok {
		t.Error("a ticket that is none is tried on")
	}
	if after := count(); after != before {
		t.Errorf("there are %d rows more", after-before)
	}
}

func TestTheLineThatFits(t *testing.T) {
	d := open(t)
	line := func() letter.Line {
		t.Helper()
		l, _, err := letter.LineOf(ctx, d.tx, dbtest.Now.Add(d.late), d.visit)
		d.must(err)
		return l
	}
	want := func(rule string, kind message.Kind, says string) {
		t.Helper()
		if l := line(); l.Kind != kind || !strings.Contains(l.Text, says) || strings.ContainsAny(l.Text, "{}\n") || (l.Note == nil) != (kind == "") {
			t.Errorf("%s: %+v, want %q with %q", rule, l, kind, says)
		}
	}
	want("in the shop", message.Received, "we have your Sill 34 and Kelp 120, promised for")
	v, err := job.Visit(ctx, d.tx, d.visit)
	d.must(err)
	d.must(job.MovePromise(ctx, d.tx, d.act(), d.visit, v.Version, dbtest.Now.AddDate(0, 0, 4), "parts", job.Foreseen{}, time.UTC))
	want("moved and not told", message.Moved, "We cannot keep that, and are sorry. The new day is")
	d.must(message.Tell(ctx, d.tx, d.act(), line().Note.ID))
	want("moved and told", message.Received, "promised for")
	d.bring(d.jobs[0], toReady[:2]...)
	d.propose(d.jobs[0], "new wipers", 2800, nil)
	want("something is asked", message.GoAhead, "Sill 34: new wipers, £28.00. With it the visit comes to £172.00")
	d.must(job.Cancel(ctx, d.tx, d.act(), d.jobs[0].ID, "not worth repairing", ""))
	d.bring(d.jobs[1], toReady...)
	want("what is left is done", message.Ready, "the work on your Kelp 120 is done. You can pick it up.")
	d.must(job.HandOver(ctx, d.tx, d.act(), d.jobs[1].ID, ""))
	want("it is gone", message.FirstRide, "how was the first ride on your Kelp 120?")
}

// The orders of a date are those of ordinary English, of the United States and of
// ISO 8601: common practice (no source).
func TestALetterIsWrittenAsItsCustomerReads(t *testing.T) {
	d := open(t)
	d.bring(d.jobs[0], toReady[:2]...)
	ready := time.Date(2027, 1, 8, 16, 30, 0, 0, time.UTC)
	d.propose(d.jobs[0], "new wipers", 123456, &ready)
	for _, c := range []struct {
		rule string
		way  customer.Way
		says []string
	}{
		{"the shop's", customer.Way{}, []string{"£1,234.56", "£1,378.56", "Friday 8 January 2027, 16:30"}},
		{"theirs", customer.Way{Days: "month day", Clock: "12", Decimals: "comma"}, []string{"£1.234,56", "£1.378,56", "Friday, January 8, 2027, 4:30\u00a0pm"}},
		{"another order", customer.Way{Days: "year month day", Clock: "24", Version: 1}, []string{"£1,234.56", "Friday 2027-01-08, 16:30"}},
	} {
		if c.way != (customer.Way{}) {
			d.must(customer.SetWay(ctx, d.tx, d.act(), d.of(message.GoAhead).CustomerID, c.way))
		}
		d.wants(c.rule, message.GoAhead, "Weir Lane Cycles: may we go on with your Sill 34 and Kelp 120?", c.says...)
	}
	l, _, err := letter.LineOf(ctx, d.tx, d.act().At, d.visit)
	if err != nil || !strings.Contains(l.Text, "£1,234.56") {
		t.Errorf("the desk reads out %q, %v; want it in the shop's way", l.Text, err)
	}
}
