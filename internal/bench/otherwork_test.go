package bench_test

import (
	"strings"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// dropped takes in one unit for a service, by a desk without a job of its own.
func dropped(t *testing.T, d *desk, unit customer.UnitDetails, service string) error {
	t.Helper()
	visit, err := job.TakeIn(ctx, d.tx, d.act(), job.DropOff{
		NewCustomer: customer.Details{Name: "Mirela Anttonen"}, PromisedAt: dbtest.Now.Add(4 * time.Hour), Currency: "GBP",
		Units: []job.DropOffUnit{{NewUnit: unit, Complaint: "knocks at the eyelet", Services: []string{service}}},
	})
	if err != nil {
		return err
	}
	_, err = link.Make(ctx, d.tx, d.act(), []byte("0123456789abcdef0123456789abcdef"), visit, dbtest.Now.AddDate(0, 3, 0))
	must(t, err)
	v, err := job.Visit(ctx, d.tx, visit)
	must(t, err)
	d.job, d.unit = v.Jobs[0].ID, v.Jobs[0].UnitID
	return nil
}

func TestARearShockInWordsFromDropOffToPickedUp(t *testing.T) {
	tx := dbtest.Tx(t)
	d := &desk{t: t, tx: tx, by: dbtest.By(t, tx, "desk", "mechanic", "owner")}
	d.must(procedure.Install(ctx, tx, d.by))
	must(t, dropped(t, d, customer.UnitDetails{Kind: "rear shock", ModelWords: "grey shock, no label"}, "other"))
	d.start()
	words := d.step("F1.shock")
	refused(t, "no words", d.tried(func(tx pgxTx) error {
		return bench.Sign(ctx, tx, d.act(), london, bench.Signing{StepID: words.ID, Words: " "})
	}),
		"words: Write what was done.")
	refused(t, "a book", d.tried(func(tx pgxTx) error {
		return bench.Sign(ctx, tx, d.act(), london, bench.Signing{StepID: words.ID, Words: strings.Repeat("a", 4001)})
	}), "words: Write at most 4000 characters.")
	minutes, clicks := 55.0, 9.0
	for _, step := range d.sheet().Steps {
		g := d.expected(step)
		switch {
		case step.InWords():
			g.Words = " New eyelet bushes pressed in. "
		case step.Verdict():
			g.Count = &minutes
		case step.Key == "A4":
			g.Outcome, g.Value = bench.OutcomeUnknown, nil
		case step.Key == "V2":
			g.Value = &quantity.Value{SI: 150 * 6894.757293168, Unit: quantity.PSI, Entered: "150"}
		case strings.HasSuffix(step.Key, ".rebound"):
			g.Count = &clicks
		case step.Unsure:
			g.Outcome, g.Reason, g.Count = bench.OutcomeNot, "It has none.", nil
		}
		if err := d.sign(g); err != nil {
			t.Fatalf("sign %s: %v", step.Key, err)
		}
	}
	must(t, job.SetRiderNote(ctx, tx, d.act(), d.job, "The knock was the eyelet."))
	must(t, bench.MakeReady(ctx, tx, d.act(), d.job))
	must(t, job.HandOver(ctx, tx, d.act(), d.job, "the rider"))
	sheet := d.sheet()
	if sheet.Job.Stage != "picked up" || sheet.Verdict() != "safe to ride" || *sheet.ByKey("V9").Done.Count != 55 {
		t.Errorf("it is %s, %s, after %v minutes", sheet.Job.Stage, sheet.Verdict(), *sheet.ByKey("V9").Done.Count)
	}
	if done := sheet.ByKey("F1.shock").Done; done.Entered != "New eyelet bushes pressed in." || done.How != bench.HowSeen || done.ValueSI != nil {
		t.Errorf("the words are stored as %+v", done)
	}
	var told bool
	for _, s := range sheet.Measured() {
		told = told || s.Key == "F1.shock"
	}
	if !told {
		t.Error("the words are not among what was done and measured")
	}
	for _, set := range sheet.Settings() {
		switch {
		case set.Key == "pressure" && (set.Received.Outcome != bench.OutcomeUnknown || *set.Returned.ValueSI != 150*6894.757293168),
			set.Key == "rebound" && (*set.Received.Count != 9 || *set.Returned.Count != 9):
			t.Errorf("%s: received %+v, returned %+v", set.Key, set.Received, set.Returned)
		}
	}
}

// What drop-off refuses, the bench refuses: a unit may be found to be of
// another kind in between.
func TestDropOffAndBenchAgreeOnKinds(t *testing.T) {
	tx := dbtest.Tx(t)
	d := &desk{t: t, tx: tx, by: dbtest.By(t, tx, "desk", "mechanic", "owner")}
	d.must(procedure.Install(ctx, tx, d.by))
	services, err := procedure.Services(ctx, tx)
	must(t, err)
	for _, kind := range customer.Kinds {
		for _, s := range services {
			unit := customer.UnitDetails{Kind: kind, ModelWords: "no label"}
			takes := d.tried(func(pgxTx) error { return dropped(t, d, unit, s.Code) }) == nil
			begins := d.tried(func(pgxTx) error {
				must(t, dropped(t, d, customer.UnitDetails{Kind: s.Kinds[0], ModelWords: "no label"}, s.Code))
				if _, err := tx.Exec(ctx, "update unit set kind = $1 where id = $2", kind, d.unit); err != nil {
					return err
				}
				return bench.Start(ctx, tx, d.act(), d.job)
			}) == nil
			allowed := s.Code != "cartridge" // lowers left on: only a spec sheet can say so
			if takes != s.For(kind) || begins != (s.For(kind) && allowed) {
				t.Errorf("%s of a %s: taken in %v, started %v, want %v", s.Code, kind, takes, begins, s.For(kind))
			}
		}
	}
}

func TestAboutMinutesLeavesPausesOut(t *testing.T) {
	var s bench.Sheet
	for _, at := range []int{0, 10, 25, 32, 200, 215, 216} {
		s.Steps = append(s.Steps, bench.Step{Done: &bench.Signoff{At: dbtest.Now.Add(time.Duration(at) * time.Minute)}})
	}
	if got := s.AboutMinutes(); got != 50 {
		t.Errorf("about %d minutes, want 50: 32 and 16, to the next five", got)
	}
	if got := (bench.Sheet{}).AboutMinutes(); got != 0 {
		t.Errorf("an empty sheet took %d minutes", got)
	}
}
