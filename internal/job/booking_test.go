package job_test

import (
	"strings"
	"testing"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
)

// booking is a visit of two forks that come in three days.
func (d desk) booking() (visit int64, day time.Time) {
	d.t.Helper()
	day = interval.Day(d.by.At.AddDate(0, 0, 3), time.UTC)
	drop := d.dropOff(d.fork, d.addFork("Orrery Apsis"))
	drop.BookedFor, drop.PromisedAt = &day, d.by.At.AddDate(0, 0, 6)
	visit, err := job.TakeIn(ctx, d.tx, d.by, drop)
	if err != nil {
		d.t.Fatal(err)
	}
	return visit, day
}

func TestABookingComesInUnitByUnit(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	visit, day := d.booking()
	v, err := job.Visit(ctx, tx, visit)
	if err != nil || v.Booked() != 2 || v.BookedFor == nil || !v.BookedFor.Equal(day) {
		t.Fatalf("Visit = %+v, %v; want two booked for %s", v, err, day)
	}
	first, second := v.Jobs[0].ID, v.Jobs[1].ID
	d.wantStage(first, job.Booked)
	if err := job.MoveByHand(ctx, tx, d.by, first, job.DroppedOff); !isConflict(err) {
		t.Errorf("moved by hand: %v; want it to come in with its visit", err)
	}
	if err := job.ComeIn(ctx, tx, d.mechanic, visit, job.Coming{}); !isForbidden(err) {
		t.Errorf("a mechanic takes it in: %v; want Forbidden", err)
	}
	if err := job.ComeIn(ctx, tx, d.by, visit, job.Coming{Jobs: []int64{first}, Came: "post"}); err != nil {
		t.Fatal(err)
	}
	d.wantStage(first, job.Arrived)
	d.wantStage(second, job.Booked)
	if err := job.ComeIn(ctx, tx, d.by, visit, job.Coming{}); err != nil {
		t.Fatal(err)
	}
	d.wantStage(second, job.DroppedOff)
	if err := job.ComeIn(ctx, tx, d.by, visit, job.Coming{}); !isConflict(err) {
		t.Errorf("come in a second time: %v; want Conflict", err)
	}
}

func TestTermsAreAcceptedWhenABookingComesIn(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	var terms int64
	err := tx.QueryRow(ctx, `insert into terms (words, actor_id, intent_id, at) values ('We look after it.', $1, $2, $3) returning id`,
		d.by.Staff, d.by.Intent, d.by.At).Scan(&terms)
	if err != nil {
		t.Fatal(err)
	}
	visit, _ := d.booking()
	if err := job.ComeIn(ctx, tx, d.by, visit, job.Coming{TermsID: terms, TermsBy: " "}); !isInvalid(err, "terms") {
		t.Errorf("terms nobody accepted: %v", err)
	}
	if err := job.ComeIn(ctx, tx, d.by, visit, job.Coming{TermsID: terms, TermsBy: "Odette Marsh"}); err != nil {
		t.Fatal(err)
	}
	if v, err := job.Visit(ctx, tx, visit); err != nil || v.TermsID != terms || v.TermsBy != "Odette Marsh" {
		t.Errorf("terms %d accepted by %q, %v", v.TermsID, v.TermsBy, err)
	}
}

func TestABookingLapsesAndIsBookedAgainOrEnds(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	visit, day := d.booking()
	v, err := job.Visit(ctx, tx, visit)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := job.Board(ctx, tx, job.BoardFilter{Stage: job.Booked})
	if err != nil || len(rows) != 2 {
		t.Fatalf("the board has %+v, %v; want two booked", rows, err)
	}
	for after, want := range map[int]job.Remark{
		-3: {Kind: job.RemarkBooked, Words: "comes " + day.Format("Mon")},
		0:  {Kind: job.RemarkBooked, Words: "comes today"},
		2:  {Kind: job.RemarkLapsed, Words: "did not come " + day.Format("Mon")},
	} {
		if got := rows[0].Remark(day.AddDate(0, 0, after).Add(10*time.Hour), time.UTC); got != want {
			t.Errorf("%d days after the day: %+v, want %+v", after, got, want)
		}
	}
	later := day.AddDate(0, 0, 7)
	rebook := func(version int, day, promised time.Time) error {
		return job.Rebook(ctx, tx, d.by, visit, version, day, promised, time.UTC)
	}
	if err := rebook(v.Version, later, later.AddDate(0, 0, -1)); !isInvalid(err, "promised") {
		t.Errorf("promised before it comes: %v", err)
	}
	if err := rebook(v.Version, d.by.At.AddDate(0, 0, -2), later); !isInvalid(err, "booked") {
		t.Errorf("booked for a day that is over: %v", err)
	}
	if err := rebook(v.Version, later, later.AddDate(0, 0, 2)); err != nil {
		t.Fatal(err)
	}
	if err := rebook(v.Version, later, later.AddDate(0, 0, 2)); !isConflict(err) {
		t.Errorf("booked again from an old page: %v; want Conflict", err)
	}
	id := v.Jobs[0].ID
	if err := job.Cancel(ctx, tx, d.by, id, "no fault found", ""); !isInvalid(err, "ending") {
		t.Errorf("what never came ends as looked at: %v", err)
	}
	if err := job.Cancel(ctx, tx, d.by, id, job.NotBrought, ""); err != nil {
		t.Fatal(err)
	}
	d.wantStage(id, job.Cancelled)
}

func TestAnswersAreKeptForTheSymptomsThatAreNamed(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	drop := d.dropOff(d.fork)
	drop.Units[0].Symptoms = []string{"scratch", "oil"}
	drop.Units[0].Answers = []job.Answer{
		{Symptom: "scratch", Question: "nail", Words: "yes"}, {Symptom: "oil", Question: "side", Words: " rider’s left "},
		{Symptom: "oil", Question: "much", Words: ""}, {Symptom: "dives", Question: "when", Words: "on every bump"}, {Symptom: "oil", Question: "colour", Words: "brown"},
	}
	visit, err := job.TakeIn(ctx, tx, d.by, drop)
	if err != nil {
		t.Fatal(err)
	}
	v, err := job.Visit(ctx, tx, visit)
	if err != nil {
		t.Fatal(err)
	}
	j, err := job.Get(ctx, tx, v.Jobs[0].ID)
	var got []string
	for _, a := range j.Answers {
		got = append(got, a.Asked()+" "+a.Words)
	}
	if want := "On which side? rider’s left; Does it catch a fingernail? yes"; err != nil || strings.Join(got, "; ") != want {
		t.Errorf("answers %q, %v; want %q", got, err, want)
	}
	drop = d.dropOff()
	drop.Units = []job.DropOffUnit{{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "grey fork"}, Services: []string{"test-lower"}, Symptoms: []string{"harsh"},
		Answers: []job.Answer{{Symptom: "harsh", Question: "since", Words: strings.Repeat("a", 121)}}}}
	if _, err := job.TakeIn(ctx, tx, d.by, drop); !isInvalid(err, "unit0.ask.harsh.since") {
		t.Errorf("an endless answer: %v", err)
	}
}
