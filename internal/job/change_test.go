package job_test

import (
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
)

func TestJobGoesThroughTheShop(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	id := d.takeIn().ID
	if err := job.MoveByHand(ctx, tx, d.by, id, job.InQueue); err != nil {
		t.Fatal(err)
	}
	d.wantLast(id, "job moved")
	d.bring(id, job.OnBench, job.FinalCheck, job.Ready)
	j := d.wantStage(id, job.Ready)
	if j.StartedAt == nil || j.ReadyAt == nil || j.ClosedAt != nil || j.Version != 5 {
		t.Errorf("ready job = %+v; want started, ready, open, four changes later", j)
	}
	if err := job.HandOver(ctx, tx, d.by, id, " Tomás "); err != nil {
		t.Fatal(err)
	}
	j = d.wantStage(id, job.PickedUp)
	if j.Ending != job.Done || j.ClosedAt == nil || j.TakenBy != "Tomás" || j.Version != 6 {
		t.Errorf("handed over job = %+v", j)
	}
	d.wantLast(id, "job handed over")
	for name, err := range map[string]error{
		"HandOver":     job.HandOver(ctx, tx, d.by, id, ""),
		"Cancel":       job.Cancel(ctx, tx, d.by, id, "no parts", ""),
		"Move":         job.Move(ctx, tx, d.mechanic, id, job.OnBench, ""),
		"Assign":       job.Assign(ctx, tx, d.by, id, j.Version, nil),
		"Hold":         job.Hold(ctx, tx, d.by, id, job.SentOut, "", nil),
		"SetRiderNote": job.SetRiderNote(ctx, tx, d.mechanic, id, "late"),
	} {
		if !isConflict(err) {
			t.Errorf("%s of a closed job: %v; want a Conflict", name, err)
		}
	}
}

func TestReadyJobGoesBackToItsCheck(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	id := d.takeIn().ID
	d.bring(id, job.OnBench, job.FinalCheck, job.Ready)
	if err := job.Move(ctx, tx, d.mechanic, id, job.FinalCheck, "  "); !isInvalid(err, "reason") {
		t.Errorf("without a reason: %v", err)
	}
	if err := job.Move(ctx, tx, d.mechanic, id, job.FinalCheck, "oil at the left foot"); err != nil {
		t.Fatal(err)
	}
	if j := d.wantStage(id, job.FinalCheck); j.ReadyAt != nil {
		t.Errorf("ready since %v after it went back", j.ReadyAt)
	}
}

func TestMovesThatAreRefused(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	id := d.takeIn().ID
	if err := job.Move(ctx, tx, d.by, id, job.OnBench, ""); !isForbidden(err) {
		t.Errorf("the desk starts work: %v; want Forbidden", err)
	}
	if err := job.Move(ctx, tx, d.mechanic, id, job.Ready, ""); !isConflict(err) {
		t.Errorf("ready from the counter: %v; want a Conflict", err)
	}
	if err := job.MoveByHand(ctx, tx, d.mechanic, id, job.OnBench); !isConflict(err) {
		t.Errorf("on the bench by hand: %v; want a Conflict", err)
	}
	d.bring(id, job.OnBench, job.FinalCheck)
	if err := job.MoveByHand(ctx, tx, d.mechanic, id, job.Ready); !isConflict(err) {
		t.Errorf("ready by hand: %v; want a Conflict", err)
	}
	if err := job.HandOver(ctx, tx, d.by, id, ""); !isConflict(err) {
		t.Errorf("handed over before it is ready: %v; want a Conflict", err)
	}
	d.bring(id, job.Ready)
	if err := job.Move(ctx, tx, d.mechanic, id, job.PickedUp, ""); !isConflict(err) {
		t.Errorf("picked up by Move: %v; want a Conflict", err)
	}
	if err := job.Move(ctx, tx, d.mechanic, 1<<40, job.OnBench, ""); !isNotFound(err) {
		t.Errorf("no job: %v; want NotFound", err)
	}
	d.wantStage(id, job.Ready)
}

func TestCancel(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	id := d.takeIn().ID
	d.bring(id, job.OnBench)
	if err := job.Hold(ctx, tx, d.mechanic, id, job.WaitingOnParts, "tray 3", nil); err != nil {
		t.Fatal(err)
	}
	if err := job.Cancel(ctx, tx, d.mechanic, id, "no parts", ""); !isForbidden(err) {
		t.Errorf("a mechanic cancels: %v; want Forbidden", err)
	}
	for _, ending := range []string{"", job.Done, "eaten"} {
		if err := job.Cancel(ctx, tx, d.by, id, ending, ""); !isInvalid(err, "ending") {
			t.Errorf("Cancel as %q: %v", ending, err)
		}
	}
	if err := job.Cancel(ctx, tx, d.by, id, "left for scrap", " "); !isInvalid(err, "words") {
		t.Errorf("scrap without the customer's yes: %v", err)
	}
	if err := job.Cancel(ctx, tx, d.by, id, "left for scrap", "yes by mail today"); err != nil {
		t.Fatal(err)
	}
	j := d.wantStage(id, job.Cancelled)
	if j.Ending != "left for scrap" || j.EndingWords != "yes by mail today" || j.ClosedAt == nil || len(j.Holds) != 0 {
		t.Errorf("cancelled job = %+v", j)
	}
	d.wantLast(id, "job cancelled")
}

func TestHolds(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	id := d.takeIn().ID
	yesterday := time.Date(2026, 10, 12, 0, 0, 0, 0, time.UTC) // dbtest.Now is 13 October 13:12 UTC
	friday := yesterday.AddDate(0, 0, 4)
	if err := job.Hold(ctx, tx, d.by, id, "asleep", "", nil); !isInvalid(err, "kind") {
		t.Errorf("Hold for nothing known: %v", err)
	}
	if err := job.Hold(ctx, tx, d.by, id, job.WaitingOnParts, "", &yesterday); !isInvalid(err, "expected") {
		t.Errorf("Hold until yesterday: %v", err)
	}
	if err := job.Hold(ctx, tx, d.by, id, job.WaitingOnParts, strings.Repeat("ø", 121), nil); !isInvalid(err, "tray") {
		t.Errorf("a tray of 121 letters: %v", err)
	}
	if err := job.Hold(ctx, tx, d.by, id, job.WaitingOnParts, strings.Repeat("ø", 120), &friday); err != nil {
		t.Fatal(err)
	}
	if err := job.Hold(ctx, tx, d.by, id, job.WaitingOnParts, "", nil); !isConflict(err) {
		t.Errorf("Hold for the same again: %v; want a Conflict", err)
	}
	if err := job.Hold(ctx, tx, d.by, id, job.WaitingOnCustomer, "", nil); err != nil {
		t.Fatal(err)
	}
	j := d.get(id)
	if len(j.Holds) != 2 || j.Holds[0].Kind != job.WaitingOnParts || !j.Holds[0].ExpectedOn.Equal(friday) || j.Holds[0].By == "" || j.Version != 3 {
		t.Fatalf("job with two holds = %+v", j)
	}
	d.bring(id, job.OnBench, job.FinalCheck)
	if err := job.Move(ctx, tx, d.mechanic, id, job.Ready, ""); !isConflict(err) || !strings.Contains(err.Error(), job.WaitingOnParts) {
		t.Errorf("ready with holds: %v; want a Conflict that names it", err)
	}
	for _, h := range j.Holds {
		if err := job.EndHold(ctx, tx, d.by, id, h.ID); err != nil {
			t.Fatal(err)
		}
		d.wantLast(id, "wait ended")
	}
	if err := job.Hold(ctx, tx, d.mechanic, id, job.WaitingOnParts, "", nil); !isInvalid(err, "tray") {
		t.Errorf("parts of an open fork without a tray: %v", err)
	}
	d.bring(id, job.Ready)
	if err := job.Hold(ctx, tx, d.by, id, job.WaitingOnCustomer, "", nil); !isConflict(err) {
		t.Errorf("Hold of a ready job: %v; want a Conflict", err)
	}
	if err := job.EndHold(ctx, tx, d.by, id, 1<<40); !isNotFound(err) {
		t.Errorf("EndHold of nothing: %v; want NotFound", err)
	}
	if err := job.EndHold(ctx, tx, d.by, id+1, j.Holds[0].ID); !isNotFound(err) {
		t.Errorf("EndHold by another job's page: %v; want NotFound", err)
	}
	if err := job.EndHold(ctx, tx, d.by, id, j.Holds[0].ID); !isConflict(err) {
		t.Errorf("EndHold twice: %v; want a Conflict", err)
	}
}

func TestAssign(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	j := d.takeIn()
	if err := job.Assign(ctx, tx, d.by, j.ID, j.Version, &d.by.Staff); !isInvalid(err, "mechanic") {
		t.Errorf("Assign to the desk: %v", err)
	}
	if err := job.Assign(ctx, tx, d.by, j.ID, j.Version, &d.mechanic.Staff); err != nil {
		t.Fatal(err)
	}
	if err := job.Assign(ctx, tx, d.by, j.ID, j.Version, nil); !isConflict(err) {
		t.Errorf("Assign at a version gone by: %v; want a Conflict", err)
	}
	got := d.get(j.ID)
	if got.MechanicID == nil || *got.MechanicID != d.mechanic.Staff || got.Mechanic == "" || got.Version != j.Version+1 {
		t.Errorf("assigned job = %+v", got)
	}
	d.wantLast(j.ID, "job assigned")
	if err := job.Assign(ctx, tx, d.by, j.ID, got.Version, nil); err != nil || d.get(j.ID).MechanicID != nil {
		t.Errorf("Assign to nobody: %v", err)
	}
	if _, err := tx.Exec(ctx, "update staff set left_on = $2 where id = $1", d.mechanic.Staff, dbtest.Now.AddDate(0, 0, -1)); err != nil {
		t.Fatal(err)
	}
	if err := job.Assign(ctx, tx, d.by, j.ID, got.Version+1, &d.mechanic.Staff); !isInvalid(err, "mechanic") {
		t.Errorf("Assign to somebody who left: %v", err)
	}
}

func TestRiderNote(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	id := d.takeIn().ID
	if err := job.SetRiderNote(ctx, tx, d.by, id, "smooth now"); !isForbidden(err) {
		t.Errorf("the desk writes the note: %v; want Forbidden", err)
	}
	if err := job.SetRiderNote(ctx, tx, d.mechanic, id, strings.Repeat("a", 2001)); !isInvalid(err, "note") {
		t.Errorf("an endless note: %v", err)
	}
	if err := job.SetRiderNote(ctx, tx, d.mechanic, id, " Smooth again. "); err != nil {
		t.Fatal(err)
	}
	if j := d.get(id); j.RiderNote != "Smooth again." || j.Version != 2 {
		t.Errorf("job with note = %+v", j)
	}
	var told int
	err := tx.QueryRow(ctx, "select count(*) from event where job_id = $1 and detail::text like '%Smooth%'", id).Scan(&told)
	if err != nil || told != 0 {
		t.Errorf("%d events hold words of the note, %v", told, err)
	}
}

func TestWhoeverIsGivenAJobIsToldOfIt(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	j := d.takeIn()
	if err := job.HandOn(ctx, tx, d.by, j.ID, j.Version, d.mechanic.Staff, strings.Repeat("x", 2001)); !isInvalid(err, "know") {
		t.Errorf("words without end: %v", err)
	}
	if err := job.HandOn(ctx, tx, dbtest.Act(t, tx, d.by), j.ID, j.Version, d.mechanic.Staff, " The left foot spins. "); err != nil {
		t.Fatal(err)
	}
	j = d.get(j.ID)
	if told := j.Told(); told == nil || told.Words != "The left foot spins." || told.By == "" {
		t.Errorf("told %+v", told)
	}
	if err := job.Assign(ctx, tx, dbtest.Act(t, tx, d.by), j.ID, j.Version, nil); err != nil {
		t.Fatal(err)
	}
	if told := d.get(j.ID).Told(); told != nil {
		t.Errorf("nobody has it, and was told %q", told.Words)
	}
}
