package bench_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
)

// Lines that share a press may each end otherwise. What is missing is named by
// its line.
func TestALineOfAPressMayEndOtherwise(t *testing.T) {
	worn := []bench.Found{{Grade: bench.FoundDue, Cause: bench.FoundSo, Words: "axle thread pulled"}}
	for _, c := range []struct {
		name    string
		give    bench.Signing
		refused string // the field and the sentence; empty: taken
		found   int
	}{
		{name: "done", give: bench.Signing{}},
		{name: "does not apply", give: bench.Signing{Outcome: bench.OutcomeNot, Reason: "no axle came with it"}},
		{name: "does not apply, without a reason", give: bench.Signing{Outcome: bench.OutcomeNot}, refused: "reason: Say why it does not apply."},
		{name: "something found", give: bench.Signing{Found: worn}, found: 1},
		{name: "found without words", give: bench.Signing{Found: []bench.Found{{Grade: bench.FoundNote, Cause: bench.FoundSo, Words: " "}}},
			refused: "found: Say in a few words what was found."},
		{name: "found without a grade", give: bench.Signing{Found: []bench.Found{{Cause: bench.FoundSo, Words: "dent"}}},
			refused: "asks: Choose one: note, keep an eye on, needs doing, do not ride."},
		{name: "found of no known cause", give: bench.Signing{Found: []bench.Found{{Grade: bench.FoundNote, Cause: "bad luck", Words: "dent"}}},
			refused: "cause: Say whether it came so or happened here."},
		{name: "found where it does not apply", give: bench.Signing{Outcome: bench.OutcomeNot, Reason: "no axle", Found: worn},
			refused: "outcome: Something is found at a step that applies."},
		{name: "unknown", give: bench.Signing{Outcome: bench.OutcomeUnknown}, refused: "outcome: This one has to be known."},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := withSheet(t, dbtest.Tx(t))
			d.start()
			crown, leaks := d.expected(*d.step("A8")), c.give
			leaks.StepID = d.step("A9").ID
			err := pgx.BeginFunc(ctx, d.tx, func(tx pgx.Tx) error {
				return bench.SignTogether(ctx, tx, d.act(), london, []bench.Signing{crown, leaks})
			})
			if c.refused != "" {
				refused(t, c.name, err, bench.Line(leaks.StepID, "")+c.refused)
				if d.step("A8").Done != nil {
					t.Error("the line beside it was signed though the press was refused")
				}
				return
			}
			must(t, err)
			if got := d.sheet().FoundAt(leaks.StepID); len(got) != c.found || d.step("A9").Done == nil || d.step("A8").Done == nil {
				t.Errorf("%d findings at the step, want %d, and both lines signed", len(got), c.found)
			}
		})
	}
}

func TestAFindingStandsUntilItIsWithdrawn(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	must(t, bench.AddFinding(ctx, d.tx, d.act(), d.job, bench.Found{Grade: bench.FoundWatch, Cause: bench.HappenedHere, Words: " arch scratched by the vice "}))
	list, err := bench.Findings(ctx, d.tx, d.job)
	must(t, err)
	if len(list) != 1 || list[0].Words != "arch scratched by the vice" || list[0].StepID != nil || list[0].Answer != "" || list[0].Cause != bench.HappenedHere {
		t.Fatalf("stored %+v", list)
	}
	id := list[0].ID
	refused(t, "no reason", bench.Withdraw(ctx, d.tx, d.act(), d.job, id, " "), "reason: Say why it is withdrawn.")
	refused(t, "an endless reason", bench.Withdraw(ctx, d.tx, d.act(), d.job, id, strings.Repeat("x", 1001)), "reason: Write at most 1000 characters.")
	other := d.takeIn(customer.UnitDetails{Kind: "fork", ModelWords: "another fork"}).Jobs[0].ID
	refused(t, "by another job's page", bench.Withdraw(ctx, d.tx, d.act(), other, id, "why"), "There is no such finding on this job.")
	refused(t, "the front desk", bench.Withdraw(ctx, d.tx, dbtest.By(t, d.tx, "desk"), d.job, id, "why"), "Only a mechanic works on a bench sheet.")
	must(t, bench.Withdraw(ctx, d.tx, d.act(), d.job, id, "it was there in the pictures"))
	refused(t, "twice", bench.Withdraw(ctx, d.tx, d.act(), d.job, id, "again"), "This finding is withdrawn already.")
	list, err = bench.Findings(ctx, d.tx, d.job)
	must(t, err)
	if len(bench.Standing(list)) != 0 || list[0].Answer != bench.Withdrawn || list[0].AnswerWords != "it was there in the pictures" || list[0].Words == "" {
		t.Errorf("after withdrawing: %+v; want the original with the reason", list)
	}
}

// A valve that gives no reading is a finding, and its pressure unknown: common
// practice (no source).
func TestWhatIsUnknownMayBeAFindingToo(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("A3")
	for _, key := range []string{"A4", "A5.rebound"} {
		step := d.step(key)
		must(t, d.sign(bench.Signing{StepID: step.ID, Outcome: bench.OutcomeUnknown,
			Found: []bench.Found{{Grade: bench.FoundDue, Cause: bench.FoundSo, Words: "valve core leaks"}}}))
		after := d.sheet()
		if got := after.FoundAt(step.ID); len(got) != 1 || after.ByKey(key).Done.Outcome != bench.OutcomeUnknown || after.ByKey(key).Done.ValueSI != nil {
			t.Errorf("%s: found %+v, signed %+v; want the finding and an unknown reading", key, got, after.ByKey(key).Done)
		}
	}
}

// What is not to be ridden is never called safe, and what is to be watched is
// said: common practice (no source).
func TestNoVerdictBeliesAFinding(t *testing.T) {
	for _, c := range []struct {
		finding string
		taken   []string
	}{
		{bench.FoundNote, []string{"safe to ride", "keep an eye on", "do not ride"}},
		{bench.FoundDue, []string{"safe to ride", "keep an eye on", "do not ride"}},
		{bench.FoundWatch, []string{"keep an eye on", "do not ride"}},
		{bench.FoundUnsafe, []string{"do not ride"}},
	} {
		t.Run(c.finding, func(t *testing.T) {
			d := withSheet(t, dbtest.Tx(t))
			d.start()
			d.signUpTo("V8")
			found := bench.Found{Grade: c.finding, Cause: bench.FoundSo, Words: "crown creaks"}
			must(t, bench.AddFinding(ctx, d.tx, d.act(), d.job, found))
			for _, verdict := range d.step("V9").Grades {
				give := bench.Signing{StepID: d.step("V9").ID, Grade: verdict}
				err := d.tried(func(tx pgxTx) error { return bench.Sign(ctx, tx, d.act(), london, give) })
				switch taken := slices.Contains(c.taken, verdict); {
				case taken && err != nil:
					t.Errorf("%q: %v, want taken", verdict, err)
				case !taken && (err == nil || !strings.Contains(err.Error(), "The mechanic found “crown creaks”, "+c.finding)):
					t.Errorf("%q: %v, want refused for the finding", verdict, err)
				}
			}
		})
	}
}

func TestAFindingDoesNotBelieTheVerdictGiven(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	d.signUpTo("")
	unsafe := bench.Found{Grade: bench.FoundUnsafe, Cause: bench.FoundSo, Words: "crack under the crown"}
	err := d.tried(func(tx pgxTx) error { return bench.AddFinding(ctx, tx, d.act(), d.job, unsafe) })
	refused(t, "beside safe to ride", err, "Step "+seq(d, "V9")+" is signed as “safe to ride”, which this finding belies; cross that out first.")
	must(t, bench.CrossOut(ctx, d.tx, d.act(), d.job, d.step("V9").Done.ID, "crack seen late"))
	must(t, bench.AddFinding(ctx, d.tx, d.act(), d.job, unsafe))
}

// Wear that is not right is a finding in one press: common practice (no source).
func TestABadGradeOffersItsFinding(t *testing.T) {
	d := withSheet(t, dbtest.Tx(t))
	d.start()
	found := func(grade, words string) bench.Found {
		return bench.Found{Grade: grade, Cause: bench.FoundSo, Words: words}
	}
	for key, want := range map[string]map[string]bench.Found{
		"A6":       {"seen": found(bench.FoundWatch, "Bushing play: seen"), "knocks": found(bench.FoundDue, "Bushing play: knocks")},
		"A7":       {"coating through": found(bench.FoundWatch, "Stanchions: coating through"), "catches a fingernail": found(bench.FoundDue, "Stanchions: catches a fingernail")},
		"S9.right": {"too much": found(bench.FoundDue, "Oil drained, rider’s right: too much")},
		"V9":       {},
	} {
		step := d.step(key)
		for _, grade := range append(slices.Clone(step.Grades), "spotless") {
			got, ok := step.Offer(grade)
			if expect, bad := want[grade]; ok != bad || !reflect.DeepEqual(got, expect) {
				t.Errorf("%s, %s offers %+v, %v; want %+v", key, grade, got, ok, expect)
			}
		}
	}
}

// A fork in parts is not ridden: common practice (no source). What is put back
// together may be.
func TestAForkInPartsIsNotCalledFitToRide(t *testing.T) {
	sheet := func(keys ...string) (s bench.Sheet) {
		for _, key := range keys {
			s.Steps = append(s.Steps, bench.Step{Key: key})
		}
		return s
	}
	for _, c := range []struct {
		name, verdict string
		sheet         bench.Sheet
		refused       bool
	}{
		{"stripped for a quote, safe", "safe to ride", sheet("S8", "Q1", "V9"), true},
		{"stripped for a quote, to be watched", "keep an eye on", sheet("S8", "Q1", "V9"), true},
		{"stripped for a quote", "do not ride", sheet("S8", "Q1", "V9"), false},
		{"stripped and closed", "safe to ride", sheet("S8", "Q1", "Z7", "V9"), false},
		{"never opened", "safe to ride", sheet("C6", "V9"), false},
	} {
		if why := c.sheet.Belied(c.verdict); (why != "") != c.refused {
			t.Errorf("%s: %q, refused should be %v", c.name, why, c.refused)
		}
	}
}
