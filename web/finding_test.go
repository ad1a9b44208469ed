package web

import (
	"context"
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
	"damperdesk/internal/link"
)

// condition opens the lines of the drop-off inspection that share a press, and
// gives what a press sends that answers each as usual.
func (c counter) condition(b *browser) (bench.Sheet, string, map[string]string) {
	c.t.Helper()
	j := c.benchJob()
	_, path := c.onBench(b, j, "A6")
	sheet, err := bench.Get(context.Background(), c.pool, j.ID)
	if err != nil {
		c.t.Fatal(err)
	}
	sent := map[string]string{}
	for _, s := range sheet.Together(sheet.ByKey("A6")) {
		sent[bench.Line(s.ID, "outcome")] = "done"
		if len(s.Grades) > 0 {
			sent[bench.Line(s.ID, "grade")] = s.Grades[0]
		}
	}
	if len(sent) < 6 {
		c.t.Fatalf("%d answers for the lines of A6, want several lines", len(sent))
	}
	return sheet, path, sent
}

func flat(fields map[string]string) []string {
	var list []string
	for name, value := range fields {
		list = append(list, name, value)
	}
	return list
}

func TestEachLineOfAPressHasItsOwnAnswer(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	sheet, path, sent := c.condition(b)
	crown, leaks, moves, complaint := sheet.ByKey("A8").ID, sheet.ByKey("A9").ID, sheet.ByKey("A10").ID, sheet.ByKey("A11").ID
	p := b.get(path).want(http.StatusOK)
	for _, answer := range []string{"done", "not done", "does not apply", "found something"} {
		if p.Find(`input[name="`+bench.Line(leaks, "outcome")+`"][value="`+answer+`"]`).Length() != 1 {
			t.Errorf("a line cannot be answered %q", answer)
		}
	}
	sent[bench.Line(crown, "outcome")] = "not done"
	delete(sent, bench.Line(crown, "grade"))
	sent[bench.Line(leaks, "outcome")] = "found something"
	sent[bench.Line(leaks, "cause")] = "happened here"
	sent[bench.Line(leaks, "found")] = "arch scratched"
	sent[bench.Line(complaint, "outcome")] = "does not apply"
	delete(sent, bench.Line(complaint, "grade"))

	bad := b.post(path+"/together", flat(sent)...).want(http.StatusUnprocessableEntity)
	if got := bad.wrong(bench.Line(leaks, "asks")); !strings.HasPrefix(got, "Choose one: note, keep an eye on") {
		t.Errorf("beside the line it says %q", got)
	}
	if bad.value(bench.Line(leaks, "found")) != "arch scratched" || bad.Find(`.needed input[value="happened here"][checked]`).Length() != 1 {
		t.Error("what was typed of the finding did not come back in sight")
	}
	sent[bench.Line(leaks, "asks")] = "keep an eye on"
	bad = b.post(path+"/together", flat(sent)...).want(http.StatusUnprocessableEntity)
	if got := bad.wrong(bench.Line(complaint, "reason")); got != "Say why it does not apply." {
		t.Errorf("beside the line it says %q", got)
	}
	sent[bench.Line(complaint, "reason")] = "just due"
	next := b.post(path+"/together", flat(sent)...).want(http.StatusSeeOther).to

	after, err := bench.Get(context.Background(), s.pool, sheet.Job.ID)
	if err != nil {
		t.Fatal(err)
	}
	if next != stepPath(sheet.Job.ID, after.ByKey("S4").ID) {
		t.Errorf("leads to %s, want on to S4: what was left on purpose waits", next)
	}
	if after.ByKey("A8").Done != nil || after.Find(moves).Done == nil || after.ByKey("A11").Done.Outcome != bench.OutcomeNot || after.ByKey("A9").Done == nil {
		t.Errorf("signed otherwise than answered: %+v", after.ByKey("A11").Done)
	}
	if got := after.FoundAt(leaks); len(got) != 1 || got[0].Words != "arch scratched" || got[0].Cause != bench.HappenedHere {
		t.Errorf("found %+v", got)
	}
	b.get(benchPath(sheet.Job.ID)).wantWords(".sheet", "keep an eye on arch scratched happened here")
	b.get("/jobs/"+strconv.FormatInt(sheet.Job.ID, 10)).wantWords("#found", "arch scratched")
}

func TestALineWhoseGradeIsNotInWaits(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	sheet, path, sent := c.condition(b)
	play := sheet.ByKey("A6").ID
	delete(sent, bench.Line(play, "grade"))
	if next := b.post(path+"/together", flat(sent)...).want(http.StatusSeeOther).to; next != path {
		t.Errorf("leads to %s, want back to %s, whose grade is not in", next, path)
	}
	alone := []string{bench.Line(play, "outcome"), "done"}
	b.post(path+"/together", alone...).want(http.StatusConflict).wantWords(".problem", "Nothing is answered and filled in yet.")
	bad := b.post(path+"/together", append(alone, bench.Line(play, "grade"), "wobbly")...).want(http.StatusUnprocessableEntity)
	if got := bad.wrong(bench.Line(play, "grade")); !strings.HasPrefix(got, "Choose one") {
		t.Errorf("the line says %q, want to choose a grade", got)
	}
	left := []string{bench.Line(play, "outcome"), "not done"}
	if next := b.post(path+"/together", left...).want(http.StatusSeeOther).to; next != stepPath(sheet.Job.ID, sheet.ByKey("S4").ID) {
		t.Errorf("what is left on purpose leads to %s", next)
	}
}

func TestABadGradeIsAFindingInOnePress(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	sheet, path, sent := c.condition(b)
	worn := sheet.ByKey("A7").ID
	b.get(path).wantWords(".offer", "Record the finding “Stanchions: coating through”, keep an eye on")
	sent[bench.Line(worn, "grade")] = "coating through"
	sent[bench.Line(worn, "offer")] = "coating through"
	b.post(path+"/together", flat(sent)...).want(http.StatusSeeOther)
	b.get(benchPath(sheet.Job.ID)).wantWords(".sheet", "keep an eye on Stanchions: coating through")
}

func TestAnOfferCountsForItsOwnGrade(t *testing.T) {
	s := server(t)
	c := s.counter()
	b := s.as(mechanic)
	again, path, sent := c.condition(b)
	play := again.ByKey("A6").ID
	sent[bench.Line(play, "offer")] = "knocks" // of a grade that was chosen before another one
	b.post(path+"/together", flat(sent)...).want(http.StatusSeeOther)
	after, err := bench.Get(context.Background(), s.pool, again.Job.ID)
	if err != nil || len(after.Findings) != 0 {
		t.Errorf("%d findings, error %v; want none: the offer is of another grade", len(after.Findings), err)
	}
}

func TestLeftAndRightShareAScreen(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	_, left := c.onBench(b, j, "Z7")
	p := b.get(left).want(http.StatusOK).wantWords("h1", "Torque the foot, rider’s left and right").wantWords(".signbar .main", "Sign rider’s left")
	right := p.Find(".signbar a.other").AttrOr("href", "")
	turned := b.get(right).want(http.StatusOK).wantWords("h1", "Torque the foot, rider’s left and right").wantWords(".signbar .main", "Sign rider’s right")
	if turned.Find(".signbar a.other").AttrOr("href", "") != left {
		t.Error("the turned screen does not turn back")
	}
	wrench := turned.Find(`input[name=tool][checked]`).AttrOr("value", "")
	next := b.post(right+"/sign", "tool", wrench, "keys", wrench, "unit", "N·m", "value", "7.4 N·m").wantTo(left)
	p = b.get(next.to).wantWords("h1", "Torque the foot, rider’s left and right").wantWords(".signbar .other", "Rider’s right stored set to 7.4 N·m, clicked")
	if got := p.Find(`.keys input[checked]`).AttrOr("value", ""); got != "7.4 N·m" {
		t.Errorf("the other side begins at %q, want the setting just used, 7.4 N·m", got)
	}
	if p.Find(".signbar .main[autofocus]").Length() != 1 {
		t.Error("the press for the other side has not the focus")
	}
}

// toVerdict signs a sheet up to the mechanic's word on riding, and says where
// that is given.
func toVerdict(b *browser, sheet string) string {
	at := b.get(sheet).Find(".links a.main").AttrOr("href", "")
	h := hand{words: "Cable renewed."}
	for {
		form := b.get(at).want(http.StatusOK).Find("main form").First()
		if form.Find(`[name="note"]`).Length() == 1 {
			return at
		}
		at = b.send(http.MethodPost, form.AttrOr("action", ""), h.fill(form, "9")).want(http.StatusSeeOther).to
	}
}

// address is the one the customer of a job has.
func (c counter) address(j job.Job) string {
	c.t.Helper()
	var token string
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) (err error) {
		v, err := job.Get(ctx, tx, j.ID)
		if err == nil {
			token, err = link.Make(ctx, tx, by(), linkKey, v.VisitID, dbtest.Now.AddDate(0, 3, 0))
		}
		return err
	}, desk)
	return "/c/" + token
}

func TestWhatIsPutRightIsSaidAndStandsInNobodysWay(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.takeInUnit(customer.UnitDetails{Kind: "seatpost", ModelWords: "grey post"}, "other"), s.as(mechanic)
	jobPage := "/jobs/" + strconv.FormatInt(j.ID, 10)
	b.post(jobPage + "/start").want(http.StatusSeeOther)
	sheet := benchPath(j.ID)
	b.post(sheet+"/finding", "found", "collar bolt loose", "asks", "do not ride", "cause", "found so").wantTo(sheet)
	at := toVerdict(b, sheet)
	if got := b.get(at).Find(`main a[href="` + sheet + `#findings"]`).Length(); got != 1 {
		t.Errorf("%d ways lead from the verdict to what was found, want 1", got)
	}
	id := b.get(sheet).Find(`form[action$="/mend"] button`).AttrOr("value", "")
	empty := b.post(sheet+"/mend", "finding", id, "done", " ").want(http.StatusUnprocessableEntity)
	if got := empty.wrong("done"); got != "Say in a sentence what was done." {
		t.Errorf("without a word it says %q", got)
	}
	b.post(sheet+"/mend", "finding", id, "done", "Torqued to the value on the collar.").wantTo(sheet)
	b.get(sheet).wantWords(".rows", "put right").wantWords(".rows", "“Torqued to the value on the collar.”").wantWords(".rows", "do not ride, ")
	b.get(jobPage).wantWords("#found", "put right").wantWords("#history-part", "finding put right, do not ride: collar bolt loose")
	b.post(at+"/sign", "grade", "safe to ride", "note", "Runs freely.").want(http.StatusSeeOther)
	b.post(sheet + "/ready").wantTo(sheet)
	s.anybody().get(c.address(j)).wantWords(".unit", "put right Collar bolt loose Found, “do not ride”. Put right: Torqued to the value on the collar.").
		wantWords(".facts", "safe to ride")
}

// A valve that gives no reading is a finding and an unknown pressure at once,
// signed alone or with the lines beside it: common practice (no source).
func TestAnUnknownReadingMayBeAFindingToo(t *testing.T) {
	for _, together := range []bool{true, false} {
		s := server(t)
		c := s.counter()
		j, b := c.benchJob(), s.as(mechanic)
		step, path := c.onBench(b, j, "A4")
		sent := map[string]string{}
		name, form := func(field string) string { return field }, "/sign"
		if together {
			name, form = func(field string) string { return bench.Line(step.ID, field) }, "/together"
			sent[name("unknown")] = "yes"
			if b.get(path).Find(`.asked [name="`+name("unknown")+`"]`).Length() != 1 {
				t.Error("beside what was found nobody asks whether the reading is unknown")
			}
		} else {
			sent["press"] = "unknown"
		}
		for field, value := range map[string]string{"outcome": "found something", "found": "valve core stuck", "asks": "needs doing", "cause": "found so"} {
			sent[name(field)] = value
		}
		b.post(path+form, flat(sent)...).want(http.StatusSeeOther)
		after, err := bench.Get(context.Background(), s.pool, j.ID)
		if err != nil || len(after.FoundAt(step.ID)) != 1 || after.ByKey("A4").Done == nil || after.ByKey("A4").Done.Outcome != bench.OutcomeUnknown {
			t.Errorf("together %v: error %v, found %+v, signed %+v", together, err, after.FoundAt(step.ID), after.ByKey("A4").Done)
		}
	}
}

// What is found at a torque or an amount is one press away, not under a fold.
func TestFoundSomethingStandsOpenAtATorqueAndAnAmount(t *testing.T) {
	for _, key := range []string{"Z3", "Z7"} {
		s := server(t)
		c := s.counter()
		j, b := c.benchJob(), s.as(mechanic)
		_, path := c.onBench(b, j, key)
		if p := b.get(path); p.Find(`.unusual > .answer [value="found something"]`).Length() != 1 || p.Find(`details .answer`).Length() != 0 {
			t.Errorf("%s hides that something was found", key)
		}
	}
}

func TestACustomerReadsWhatWasFound(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.takeInUnit(customer.UnitDetails{Kind: "seatpost", ModelWords: "grey post"}, "other"), s.as(mechanic)
	b.post("/jobs/" + strconv.FormatInt(j.ID, 10) + "/start").want(http.StatusSeeOther)
	sheet := benchPath(j.ID)
	if got := b.post(sheet+"/finding", "asks", "note", "cause", "found so").want(http.StatusUnprocessableEntity).wrong("found"); got == "" {
		t.Error("a finding without words is taken")
	}
	b.post(sheet+"/finding", "found", "collar cracked", "asks", "do not ride", "cause", "found so").wantTo(sheet)
	b.post(sheet+"/finding", "found", "scratch near the clamp", "asks", "note", "cause", "happened here").wantTo(sheet)
	b.get(sheet).wantWords(".rows", "do not ride collar cracked")
	at := toVerdict(b, sheet)
	b.get(at).wantWords(".grades", "safe to ride The mechanic found “collar cracked”, do not ride.")
	bad := b.post(at+"/sign", "grade", "safe to ride", "note", "Runs freely.").want(http.StatusUnprocessableEntity)
	if got := bad.wrong("grade"); !strings.HasPrefix(got, "The mechanic found “collar cracked”, do not ride.") {
		t.Errorf("safe to ride is answered %q", got)
	}
	b.post(at+"/sign", "grade", "do not ride", "note", "The collar is cracked.").want(http.StatusSeeOther)
	b.post(sheet + "/ready").wantTo(sheet)

	page := s.anybody().get(c.address(j)).want(http.StatusOK)
	page.wantWords(".unit", "What was found").wantWords(".unit", "do not ride Collar cracked It came so.")
	page.wantWords(".unit", "note Scratch near the clamp This happened here, while we worked on it.")
	if strings.Contains(page.words("main"), "safe to ride") {
		t.Error("it is called safe to ride beside the finding")
	}
}

func TestWhatIsNotToBeRiddenIsSaidAsItLeaves(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b, front := c.benchJob(), s.as(mechanic), s.as(desk)
	jobPage := "/jobs/" + strconv.FormatInt(j.ID, 10)
	b.post(jobPage + "/start").want(http.StatusSeeOther)
	b.post(benchPath(j.ID)+"/finding", "found", "crack under the crown", "asks", "do not ride", "cause", "found so").want(http.StatusSeeOther)
	front.get("/board").wantWords(".stage", "found: do not ride")
	s.anybody().get(c.address(j)).wantWords(".caution", "Do not ride it as it is. Crack under the crown.")
	bad := front.post(jobPage+"/cancel", "ending", "returned undone", "words", "they would not wait").want(http.StatusUnprocessableEntity)
	if bad.wrong("told") == "" || bad.wrong("toldwho") == "" {
		t.Errorf("it may leave with nobody told: %q", bad.words("main"))
	}
	bad.wantWords("#cancel", "they would not wait")
	id := bad.Find(`#cancel input[name=told]`).AttrOr("value", "")
	front.post(jobPage+"/cancel", "ending", "returned undone", "told", id, "toldwho", "Odette Marsh").want(http.StatusSeeOther)
	front.get("/units/"+strconv.FormatInt(j.UnitID, 10)).wantWords("section", "do not ride crack under the crown")
}

func TestWhatHappenedHereIsForTheOwnerToSee(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b, boss := c.benchJob(), s.as(mechanic), s.as(owner)
	b.post("/jobs/" + strconv.FormatInt(j.ID, 10) + "/start").want(http.StatusSeeOther)
	b.post(benchPath(j.ID)+"/finding", "found", "arch scratched", "asks", "note", "cause", "happened here").want(http.StatusSeeOther)
	if b.get("/board").Find("#board-mishaps a").Length() != 0 {
		t.Error("the alert is for an owner")
	}
	boss.get("/board").wantWords("#board-mishaps", "1 thing happened here")
	p := boss.get("/review").wantWords("main", "Arch scratched")
	id := p.Find(`form[action="/review/seen"] button`).AttrOr("value", "")
	boss.post("/review/seen", "finding", id).wantTo("/review#happened")
	if boss.get("/board").Find("#board-mishaps a").Length() != 0 {
		t.Error("it is seen, and stands on the board still")
	}
}

// A proposal beyond the limit waits with its job until the desk has kept the
// customer's answer.
func TestAProposalBeyondTheLimitWaitsForTheCustomer(t *testing.T) {
	s := server(t)
	c := s.counter()
	sheet, path, sent := c.condition(s.as(mechanic))
	b, front := s.as(mechanic), s.as(desk)
	leaks := sheet.ByKey("A9").ID
	jobPage := "/jobs/" + strconv.FormatInt(sheet.Job.ID, 10)
	sent[bench.Line(leaks, "outcome")] = "found something"
	sent[bench.Line(leaks, "cause")] = "found so"
	sent[bench.Line(leaks, "asks")] = "needs doing"
	sent[bench.Line(leaks, "found")] = "wiper nicked"
	sent[bench.Line(leaks, "proposal")] = "new wipers"
	sent[bench.Line(leaks, "price")] = "lots"
	bad := b.post(path+"/together", flat(sent)...).want(http.StatusUnprocessableEntity)
	if bad.wrong(bench.Line(leaks, "price")) == "" || bad.value(bench.Line(leaks, "proposal")) != "new wipers" {
		t.Errorf("beside the price it says %q; what was proposed is %q", bad.wrong(bench.Line(leaks, "price")), bad.value(bench.Line(leaks, "proposal")))
	}
	if list, err := bench.Findings(context.Background(), s.pool, sheet.Job.ID); err != nil || len(list) != 0 {
		t.Errorf("%d findings of what was refused, %v", len(list), err)
	}
	sent[bench.Line(leaks, "price")] = "24.50"
	b.post(path+"/together", flat(sent)...).want(http.StatusSeeOther)
	p := front.get(jobPage).wantWords("#found", "waits for the customer new wipers, £24.50").wantWords(".waits", "waiting on customer")
	b.get(benchPath(sheet.Job.ID)).wantWords("main", "waits for the customer new wipers")
	front.get("/visits/"+strconv.FormatInt(sheet.Job.VisitID, 10)).wantWords("main", "waits for the customer new wipers")

	id := p.Find(`form[action="`+jobPage+`/answer"] button`).AttrOr("value", "")
	bad = front.post(jobPage+"/answer", "proposed", id, "over", "0", "how", "by phone", "who", "Odette").want(http.StatusUnprocessableEntity)
	if bad.wrong("said") == "" {
		t.Error("silence was taken for an answer")
	}
	front.post(jobPage+"/answer", "proposed", id, "over", "0", "said", "yes", "how", "by phone", "who", "Odette Marsh").wantTo(jobPage + "?done=answer")
	p = front.get(jobPage).wantWords("#found", "agreed new wipers").wantWords("#found", "Odette Marsh by phone")
	if p.Find(".waits").Length() != 0 {
		t.Error("it is agreed, and the job waits still")
	}
	b.post(jobPage+"/answer", "proposed", id, "said", "no").want(http.StatusForbidden)
}

func TestWhatHappenedHereIsProposedToNobody(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	b.post("/jobs/" + strconv.FormatInt(j.ID, 10) + "/start").want(http.StatusSeeOther)
	bad := b.post(benchPath(j.ID)+"/finding", "found", "knob snapped", "asks", "needs doing", "cause", "happened here", "proposal", "new knob", "price", "12").
		want(http.StatusUnprocessableEntity)
	if !strings.HasPrefix(bad.wrong("price"), "What happened here is not the customer’s to pay") {
		t.Errorf("beside the price it says %q", bad.wrong("price"))
	}
	if list, err := bench.Findings(context.Background(), s.pool, j.ID); err != nil || len(list) != 0 {
		t.Errorf("%d findings are half-saved, %v", len(list), err)
	}
}
