package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/quantity"
	"damperdesk/internal/tool"
	"damperdesk/templates"
)

// tools has Wrench 3 in N·m from benchJob, and beside it one in lbf·in and a
// dial. Foot bolts at 7.3 N·m, 6.8 to 7.8, set to 65 lbf·in: common practice (no
// source).
func (c counter) tools() (lbf, dial string) {
	c.t.Helper()
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		for name, t := range map[string]tool.Tool{
			"Wrench 6": {Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 18, Unit: quantity.PoundForceInch, Graduation: 1},
			"Dial 2":   {Kind: "dial wrench", RangeMinNm: 1, RangeMaxNm: 30, Unit: quantity.NewtonMetre, Graduation: 0.5},
		} {
			t.Name = name
			id, err := tool.Add(ctx, tx, by(), t)
			if err == nil {
				err = tool.Calibrate(ctx, tx, by(), id, tool.NewCalibration{DoneOn: dbtest.Now.AddDate(0, -3, 0), Passed: true})
			}
			if err != nil {
				return err
			}
			if name == "Dial 2" {
				dial = strconv.FormatInt(id, 10)
			} else {
				lbf = strconv.FormatInt(id, 10)
			}
		}
		return nil
	}, owner)
	return lbf, dial
}

func TestAWrenchIsSetToItsOwnMarks(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	lbf, dial := c.tools()
	_, path := c.onBench(b, j, "Z7")
	p := b.get(path).want(http.StatusOK).wantWords(".tools", "Wrench 3, set 7.3").wantWords(".tools", "Wrench 6, set 65")
	keys, unit := p.value("keys"), p.value("unit")
	with := func(tool string, more ...string) []string {
		return append([]string{"keys", keys, "unit", unit, "tool", tool}, more...)
	}
	again := b.post(path+"/sign", with(lbf, "value", "7.3 N·m")...).want(http.StatusUnprocessableEntity)
	if got := again.wrong("value"); got != "Wrench 6 is marked in lbf·in: choose what it was set to." {
		t.Errorf("another scale is answered %q", got)
	}
	if again.value("keys") != lbf || again.Find(`.key input[checked]`).AttrOr("value", "") != "65 lbf·in" {
		t.Errorf("keys of %q, chosen %q; want 65 lbf·in of wrench %s", again.value("keys"),
			again.Find(`.key input[checked]`).AttrOr("value", ""), lbf)
	}
	b.post(path+"/sign", with(lbf, "value-other", "65")...).want(http.StatusUnprocessableEntity)
	reads := b.post(path+"/sign", with(dial, "value", "7.3 N·m")...).want(http.StatusUnprocessableEntity).wantWords(".reads", "Reads")
	if got := reads.wrong("value"); got != "Dial 2 shows N·m: type what it reads." || reads.Find(".keys .key").Length() != 0 {
		t.Errorf("a dial is answered %q with %d keys", got, reads.Find(".keys .key").Length())
	}
	if got := b.get(path+"?tool="+lbf).Find(`.key input[checked]`).AttrOr("value", ""); got != "65 lbf·in" {
		t.Errorf("the keys asked for begin at %q, want 65 lbf·in", got)
	}
	next := b.post(path+"/sign", "keys", lbf, "unit", "lbf·in", "tool", lbf, "value-other", "66").want(http.StatusSeeOther).to
	b.get(path).wantWords(".facts", "set to 66 lbf·in, clicked").wantWords(".facts", "Wrench 6")
	right := b.get(next).wantWords(".signbar", "Sign rider’s right").wantWords(".signbar", "set to 66 lbf·in")
	if got := right.Find(`input[name=tool][checked]`).AttrOr("value", ""); got != lbf {
		t.Errorf("the other leg begins with tool %q, want the one used last, %s", got, lbf)
	}
	b.post(next+"/sign", "keys", dial, "unit", "N·m", "tool", dial, "value", "7.4").want(http.StatusSeeOther)
	sheet, err := bench.Get(context.Background(), s.pool, j.ID)
	if err != nil {
		t.Fatal(err)
	}
	left, read := sheet.ByKey("Z7").Done, sheet.ByKey("Z8").Done
	if left.How != bench.HowSet || left.Entered != "66" || left.ShownUnit != quantity.PoundForceInch || math.Abs(*left.ValueSI-66*0.1129848290276167) > 1e-9 {
		t.Errorf("stored as %+v; want 66 lbf·in, set (NIST SP 811)", left)
	}
	if read.How != bench.HowMeasured || *read.ValueSI != 7.4 {
		t.Errorf("the dial is stored as %+v; want 7.4 N·m, measured", read)
	}
}

func TestAnOpenStepSaysWhoSignedItMeanwhile(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, ines, tobias := c.benchJob(), s.as(mechanic), s.as(mechanic)
	_, path := c.onBench(ines, j, "S5")
	p := tobias.get(path).want(http.StatusOK)
	if got := p.Find("body").AttrOr("data-live", ""); got != "job:"+strconv.FormatInt(j.ID, 10) {
		t.Errorf("the step follows %q", got)
	}
	parts := p.Find("[data-live-part]")
	if parts.Length() != 1 || parts.Find("input, select, textarea").Length() > 0 || p.words("#meanwhile") != "" {
		t.Errorf("%d parts swap, with %q in them; want one line, empty, without fields", parts.Length(), p.words("#meanwhile"))
	}
	ines.post(path + "/sign").want(http.StatusSeeOther)
	seen := p.Find("body").AttrOr("data-seen", "")
	tobias.getWith(path, "Page-Seen", seen).wantWords("#meanwhile", "Signed meanwhile by "+ines.person.Name+".")
	if got := tobias.get(path).words("#meanwhile"); got != "" {
		t.Errorf("a page opened afterwards says %q", got)
	}
	if got := ines.getWith(path, "Page-Seen", seen).words("#meanwhile"); got != "" {
		t.Errorf("whoever signed it is told %q", got)
	}
}

func TestTheVerdictKeepsTheNoteAndTheMinutes(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.takeInUnit(customer.UnitDetails{Kind: "seatpost", ModelWords: "grey post"}, "other"), s.as(mechanic)
	b.post("/jobs/" + strconv.FormatInt(j.ID, 10) + "/start").want(http.StatusSeeOther)
	sheet := benchPath(j.ID)
	at := b.get(sheet).Find(".links a.main").AttrOr("href", "")
	h := hand{words: "Cable renewed."}
	for {
		form := b.get(at).want(http.StatusOK).Find("main form").First()
		if form.Find(`[name="note"]`).Length() == 1 {
			break
		}
		if h.screens > 10 {
			t.Fatalf("there is no verdict after %d screens", h.screens)
		}
		at = b.send(http.MethodPost, form.AttrOr("action", ""), h.fill(form, "9")).want(http.StatusSeeOther).to
	}
	empty := b.post(at+"/sign", "count", "a while").want(http.StatusUnprocessableEntity)
	if !strings.Contains(empty.wrong("count"), "type a number such as 12") {
		t.Errorf("the minutes say %q", empty.wrong("count"))
	}
	empty = b.post(at+"/sign", "count", "55").want(http.StatusUnprocessableEntity)
	if empty.wrong("note") == "" || empty.wrong("grade") == "" || empty.value("count") != "55" {
		t.Errorf("note %q, grade %q, minutes %q", empty.wrong("note"), empty.wrong("grade"), empty.value("count"))
	}
	b.get(sheet).wantWords("#unready", "Write the rider’s note.")
	b.post(at+"/sign", "count", "55", "grade", "safe to ride", "note", "Runs freely again.").want(http.StatusSeeOther)
	b.get(sheet).wantWords(".sheet", "safe to ride, 55 minutes at the bench").wantWords(`[name="note"]`, "Runs freely again.")
}

func TestCrossingOutATorqueNamesItsSecondCheck(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	sheet := bench.Sheet{Job: j, Steps: []bench.Step{
		{ID: 1, Seq: 1, Block: "R", Key: "R5", Title: "Torque the stem", Done: &bench.Signoff{ID: 1, StepID: 1, Role: bench.RoleDone}},
		{ID: 2, Seq: 2, Block: "R", Key: "R9.stem", Title: "Stem tight and straight", Done: &bench.Signoff{ID: 2, StepID: 2, Role: bench.RoleDone}},
	}}
	sheet.Job.Stage = job.OnBench
	page := templates.StepPage{Base: templates.Base{Person: templates.Person{ID: b.person.ID, Roles: b.person.Roles}}, Sheet: sheet, Step: &sheet.Steps[0]}
	var drawn strings.Builder
	if err := templates.BenchStep(page).Render(context.Background(), &drawn); err != nil {
		t.Fatal(err)
	}
	if want := "With it goes step 2, “Stem tight and straight”: it has to be looked at again."; !strings.Contains(drawn.String(), want) {
		t.Errorf("the page does not say %q", want)
	}
}

func TestTheOwnerLetsAToolServeForOneStep(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		_, err := tool.Add(ctx, tx, by(), tool.Tool{Name: "Wrench 9", Kind: "click wrench", RangeMinNm: 2, RangeMaxNm: 15, Unit: quantity.NewtonMetre, Graduation: 0.1, Lives: "drawer two"})
		return err
	}, owner)
	_, path := c.onBench(b, j, "Z7")
	id := fmt.Sprint(c.toolNamed("Wrench 9").ID)
	if p := b.get(path).wantWords(".tools", "Not Wrench 9"); p.Find(`[name="tool"][value="`+id+`"][disabled]`).Length() != 1 || p.Find(`[name="allow"]`).Length() != 0 {
		t.Error("a mechanic can choose it, or let it be used")
	}
	b.form(path, path+"/sign", "tool", id, "value", "7.3", "reason", "near enough").want(http.StatusUnprocessableEntity).
		wantWords("[role=alert]", "Wrench 9: It has never been calibrated. Only the owner can let it be used.")
	b.post(path+"/allow", "allow", id, "allow_reason", "near enough").want(http.StatusForbidden)

	o := s.as(owner)
	p := o.form(path, path+"/allow", "allow", id, "allow_reason", "").want(http.StatusUnprocessableEntity)
	if p.wrong("allow_reason") == "" || p.Find(`[name="allow"][value="`+id+`"][checked]`).Length() != 1 {
		t.Errorf("beside the reason %q, or the tool is not kept", p.wrong("allow_reason"))
	}
	o.form(path, path+"/allow", "allow", id, "allow_reason", "certificate in the post").wantTo(path)
	b.get(path).wantWords(".tools", "allows it: certificate in the post")
	b.form(path, path+"/sign", "tool", id, "keys", id, "value", "7.3").want(http.StatusSeeOther)
	b.get(path).wantWords(".facts", "allows it: certificate in the post").wantWords(".facts", "Wrench 9")
	s.as(mechanic).get("/tools/"+id).wantWords(".facts", "click wrench, ISO 6789-1 type II class A").wantWords(".facts", "drawer two")
}

func TestAReadingMaySayWhatItWasTakenWith(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	_, path := c.onBench(b, j, "V1")
	p := b.form(path, path+"/sign", "value", "150", "instrument", strings.Repeat("x", 81)).want(http.StatusUnprocessableEntity)
	if got := p.wrong("instrument"); got != "Write at most 80 characters." {
		t.Errorf("beside the instrument: %q", got)
	}
	b.form(path, path+"/sign", "value", "150", "instrument", "steel rule 1").want(http.StatusSeeOther)
	b.get(path).wantWords(".facts", "steel rule 1")
	j2 := c.benchSheet(j)
	b.get(stepPath(j.ID, j2.ByKey("S7").ID)).wantWords(".kit", "Tools: socket or hex key for the feet, soft mallet, pan")
}
