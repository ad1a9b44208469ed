package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// refitted is a job whose stem and axle wait for their second check: by did
// both. It gives the ids as forms send them, and the address of the checks.
func (c counter) refitted(by *browser) (j job.Job, stem, axle, path string) {
	c.t.Helper()
	j = c.benchJob()
	c.onBench(by, j, "V1")
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		act := by()
		for i, what := range []string{"stem", "axle"} {
			_, err := tx.Exec(ctx, `insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, caution, second_check, intent_id, at)
				values ($1, $2, 'R', 'Refit', 'R9.' || $3, 'check', 'The ' || $3 || ' is tight', 'Try it.', 'A loose ' || $3 || ' drops the wheel.', true, $4, $5)`,
				j.ID, 200+i, what, act.Intent, act.At)
			if err != nil {
				return err
			}
		}
		return history.Append(ctx, tx, act, history.Event{SubjectKind: "job", SubjectID: j.ID, Job: j.ID, Kind: "step added"})
	}, mechanic)
	sheet := c.benchSheet(j)
	ids := []string{}
	for _, key := range []string{"R9.stem", "R9.axle"} {
		id := sheet.ByKey(key).ID
		by.post(stepPath(j.ID, id) + "/sign").want(http.StatusSeeOther)
		ids = append(ids, strconv.FormatInt(id, 10))
	}
	return j, ids[0], ids[1], benchPath(j.ID) + "/checks"
}

func (c counter) benchSheet(j job.Job) bench.Sheet {
	c.t.Helper()
	sheet, err := bench.Get(context.Background(), c.pool, j.ID)
	if err != nil {
		c.t.Fatal(err)
	}
	return sheet
}

func TestASecondPersonTicksEachItem(t *testing.T) {
	s := server(t)
	c := s.counter()
	ines, marit := s.as(mechanic), s.as(mechanic)
	j, stem, axle, path := c.refitted(ines)
	ines.get(benchPath(j.ID)).wantWords(".links", "2 for a second check")
	ines.get(stepPath(j.ID, c.benchSheet(j).ByKey("R9.stem").ID)).wantWords(".links", "Second check")
	p := marit.get(path).want(http.StatusOK).wantWords(".together li", "A loose stem drops the wheel.").wantWords(".together li", "Done by "+ines.person.Name)
	if p.Find("input[type=checkbox]").Length() != 2 || p.Find("[checked]").Length() != 0 || p.Find("[name=pin], [name=alone]").Length() != 0 {
		t.Errorf("%d boxes, %d ticked; want two, none ticked, no PIN at a desk", p.Find("input[type=checkbox]").Length(), p.Find("[checked]").Length())
	}
	marit.post(path).want(http.StatusConflict).wantWords("[role=alert]", "Nothing is ticked yet")
	ines.post(path, "check", stem).want(http.StatusConflict).wantWords("[role=alert]", "The second check is for another person than "+ines.person.Name+".")
	marit.post(path, "check", stem, "check", "999999").want(http.StatusNotFound)
	marit.post(path, "check", stem, "check", axle).want(http.StatusSeeOther)
	for _, key := range []string{"R9.stem", "R9.axle"} {
		if got := c.benchSheet(j).ByKey(key).Checked; got == nil || got.ActorID != marit.person.ID || got.Alone || got.Together != nil || got.Device != "" {
			t.Errorf("%s is checked as %+v, want by the second person, by itself", key, got)
		}
	}
	marit.get(path).wantWords(".lead", "Nothing on this sheet waits")
}

func TestOnATabletTheSecondPersonGivesTheirPIN(t *testing.T) {
	s := server(t)
	c := s.counter()
	ines, marit, odile := s.as(mechanic), s.as(mechanic), s.as(desk)
	j, stem, axle, path := c.refitted(ines)
	who, second, tab := s.pinned(ines.person), s.pinned(marit.person), s.enrolled("stand by the window")
	tab.post("/sign-in/pin", "who", who, "pin", pin).want(http.StatusSeeOther)

	p := tab.get(path).want(http.StatusOK).wantWords(".pick:has([value='"+who+"'])", "somebody else checks it")
	if p.Find("[name=who]").Length() < 2 || p.Find("[name=who][checked]").Length() != 0 || strings.Contains(p.words(".picks"), odile.person.Name+" ") {
		t.Errorf("to choose from: %s", p.words(".picks"))
	}
	wrong := tab.post(path, "check", stem, "who", second, "pin", "000001").want(http.StatusUnprocessableEntity)
	if wrong.wrong("pin") != "That is not the PIN of "+marit.person.Name+"." || wrong.Find("[name=check][checked]").AttrOr("value", "") != stem ||
		wrong.Find("[name=check][checked]").Length() != 1 || wrong.Find("[name=who][checked]").AttrOr("value", "") != second || wrong.value("pin") != "" {
		t.Errorf("after a wrong PIN: %q, ticked %d", wrong.wrong("pin"), wrong.Find("[name=check][checked]").Length())
	}
	for _, nobody := range []string{"", strconv.FormatInt(odile.person.ID, 10)} {
		if p := tab.post(path, "check", stem, "who", nobody, "pin", pin).want(http.StatusUnprocessableEntity); p.wrong("who") == "" {
			t.Errorf("who %q: no sentence", nobody)
		}
	}
	s.pass(time.Second)
	fields := []string{"intent", p.intent(path), "check", stem, "check", axle, "who", second, "pin", pin}
	to := tab.post(path, fields...).want(http.StatusSeeOther).to
	tab.post(path, fields[:len(fields)-2]...).wantTo(to) // sent again, it asks for no PIN and does nothing
	tab.get("/bench").wantWords(".me", ines.person.Name)
	got := c.benchSheet(j).ByKey("R9.axle").Checked
	if got == nil || got.ActorID != marit.person.ID || got.Device != "stand by the window" {
		t.Fatalf("checked as %+v", got)
	}
	var actor, byWhom int64
	err := s.pool.QueryRow(t.Context(), `select e.actor_id, i.actor_id from event e join intent i on i.id = e.intent_id
		where i.kind = 'second check' limit 1`).Scan(&actor, &byWhom)
	if err != nil || actor != marit.person.ID || byWhom != ines.person.ID {
		t.Errorf("the event is by %d, its act by %d, %v; want %d and %d", actor, byWhom, err, marit.person.ID, ines.person.ID)
	}
	tab.get(stepPath(j.ID, got.StepID)).wantWords(".facts", marit.person.Name+", today 14:12, on stand by the window")
	s.as(desk).get("/jobs/"+strconv.FormatInt(j.ID, 10)).wantWords(".past", "on stand by the window")
}

func (c counter) crossOut(by *browser, j job.Job, key string) {
	c.t.Helper()
	step := c.benchSheet(j).ByKey(key)
	by.post(stepPath(j.ID, step.ID)+"/cross-out", "signoff", strconv.FormatInt(step.Done.ID, 10), "reason", "wrong").want(http.StatusSeeOther)
}

func TestWhoIsAloneChecksLater(t *testing.T) {
	s := server(t)
	c := s.counter()
	ines := s.as(mechanic)
	j, stem, axle, path := c.refitted(ines)
	ines.get(path).wantWords("details", "I looked again, alone, after other work")
	send := func(status int, fields ...string) *page {
		t.Helper()
		return ines.post(path, append(fields, "alone", "yes")...).want(status)
	}
	early := send(http.StatusUnprocessableEntity, "check", axle, "reason", "Sunday")
	want := fmt.Sprintf("Step %d was done only just now: do other work first, or look again at 14:22.", c.benchSheet(j).ByKey("R9.axle").Seq)
	if early.wrong("alone") != want || early.Find("details[open] [name=alone][checked]").Length() != 1 || early.value("reason") != "Sunday" {
		t.Errorf("too early: %q, reason %q", early.wrong("alone"), early.value("reason"))
	}
	other := c.benchSheet(j).ByKey("V1")
	ines.post(stepPath(j.ID, other.ID)+"/sign", "outcome", "does not apply", "reason", "no").want(http.StatusSeeOther)
	if p := send(http.StatusUnprocessableEntity, "check", axle, "reason", "Sunday"); p.wrong("alone") != want {
		t.Errorf("after a step that does not apply: %q", p.wrong("alone"))
	}
	c.crossOut(ines, j, "V1")
	ines.post(stepPath(j.ID, other.ID)+"/sign", "value", "150 mm").want(http.StatusSeeOther)
	c.crossOut(ines, j, "V1")
	if p := send(http.StatusUnprocessableEntity, "check", axle, "reason", "Sunday"); p.wrong("alone") != want {
		t.Errorf("after a step that was crossed out: %q", p.wrong("alone"))
	}
	if p := send(http.StatusUnprocessableEntity, "check", stem); p.wrong("reason") != "Say why nobody else could check it." {
		t.Errorf("without a reason: %q", p.wrong("reason"))
	}
	send(http.StatusSeeOther, "check", stem, "reason", "Sunday") // the axle was done since
	s.pass(10 * time.Minute)
	send(http.StatusSeeOther, "check", axle, "reason", "Sunday")
	ines.get(benchPath(j.ID)).wantWords(".sheet", "second check alone: "+ines.person.Name)
}

// All or none: one item that may not be checked keeps the others from it.
func TestSecondChecksAreStoredAllOrNone(t *testing.T) {
	s := server(t)
	c := s.counter()
	ines, marit := s.as(mechanic), s.as(mechanic)
	j, stem, axle, path := c.refitted(ines)
	marit.post(path, "check", stem).want(http.StatusSeeOther)
	marit.post(path, "check", axle, "check", stem).want(http.StatusConflict).wantWords("[role=alert]", "Checked by "+marit.person.Name)
	if got := c.benchSheet(j).ByKey("R9.axle").Checked; got != nil {
		t.Errorf("stored %+v", got)
	}
}
