package web

import (
	"net/http"
	"strconv"
	"strings"
	"testing"
)

func TestAServiceIsTakenOffAfterALookAtWhatGoes(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	c.onBench(b, j, "Z9")
	add, path := addServicePath(j.ID), addServicePath(j.ID)+"/off"
	if n := b.get(benchPath(j.ID)).Find("#take-off").Length(); n != 0 {
		t.Error("the only service is offered to be taken off")
	}
	b.confirm(b.get(add+"?service=air-spring"), add).wantTo(benchPath(j.ID))
	for _, page := range []string{"/jobs/" + strconv.FormatInt(j.ID, 10), benchPath(j.ID)} {
		if n := b.get(page).Find(`#take-off form[action="` + path + `"] [value="air-spring"]`).Length(); n != 1 {
			t.Errorf("%s offers %d times to take the air-spring service off", page, n)
		}
	}
	p := b.get(path + "?service=air-spring").want(http.StatusOK)
	p.wantWords("#content", "11 steps are no longer asked, from “No air left: core out, shaft moves freely” to “Torque the cap of the spring leg”.")
	p.wantWords("#content", "10 steps were crossed out when it was added and stay to be signed again:")
	if n := p.Find("#content .dots li").Length(); n != 10 {
		t.Errorf("%d lines, want 10", n)
	}
	p = b.confirm(p, path).want(http.StatusUnprocessableEntity)
	if got := p.wrong("reason"); got != "Say why it is taken off." {
		t.Errorf("beside the reason stands %q", got)
	}
	p.wantWords("#content", "11 steps are no longer asked")
	b.confirm(p, path, "reason", "Meant for the other fork.").wantTo(benchPath(j.ID))
	sheet := b.get(benchPath(j.ID)).want(http.StatusOK)
	sheet.wantWords("#taken-off", "no longer asked Air-spring service").wantWords("#taken-off", "“Meant for the other fork.”")
	sheet.wantWords("#taken-off summary", "11 steps no longer asked").wantWords("[aria-current=step]", "Free both feet")
	if words := sheet.words("#sheet"); strings.Contains(words, "Torque the cap of the spring leg") {
		t.Error("what is no longer asked stands on the sheet")
	}
	if services := c.benchSheet(j).Job.Services; len(services) != 1 || services[0] != "lower-leg" {
		t.Errorf("the job is here for %q", services)
	}
}

// What the page said would go is all that goes.
func TestAServiceIsNotTakenOffOnAnOldLook(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	c.onBench(b, j, "A1")
	add, path := addServicePath(j.ID), addServicePath(j.ID)+"/off"
	for _, code := range []string{"air-spring", "other"} {
		b.confirm(b.get(add+"?service="+code), add).wantTo(benchPath(j.ID))
	}
	old := b.get(path + "?service=lower-leg").want(http.StatusOK)
	old.wantWords("#content", "The other services ask for all of its steps, so none leaves the sheet.")
	b.confirm(b.get(path+"?service=air-spring"), path, "reason", "The wrong one.").wantTo(benchPath(j.ID))
	p := b.confirm(old, path, "reason", "Only the knob.").want(http.StatusConflict)
	p.wantWords("[role=alert]", "The sheet changed meanwhile, and other steps would go: look again at what changes.")
	p.wantWords("#content", "steps are no longer asked, from “Grade bushing play at three heights”")
	if p.value("reason") != "Only the knob." {
		t.Errorf("the reason is %q now", p.value("reason"))
	}
	b.confirm(p, path, "reason", p.value("reason")).wantTo(benchPath(j.ID))
	if services := c.benchSheet(j).Job.Services; len(services) != 1 || services[0] != "other" {
		t.Errorf("the job is here for %q", services)
	}
}

func TestAServiceStaysOnceAStepOfItIsSigned(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b := c.benchJob(), s.as(mechanic)
	c.onBench(b, j, "W1")
	add, path := addServicePath(j.ID), addServicePath(j.ID)+"/off"
	b.confirm(b.get(add+"?service=air-spring"), add).wantTo(benchPath(j.ID))
	old, first := b.get(path+"?service=air-spring").want(http.StatusOK), c.benchSheet(j).ByKey("P1")
	b.post(stepPath(j.ID, first.ID) + "/sign").want(http.StatusSeeOther)
	stays := "“Air-spring service” stays: its step " + strconv.Itoa(first.Seq) + ", “" + first.Title + "”, was signed"
	b.confirm(old, path, "reason", "The wrong one.").want(http.StatusConflict).wantWords("[role=alert]", stays)
	b.get(path+"?service=air-spring").want(http.StatusConflict).wantWords("[role=alert]", stays)
}

func TestAServiceOfAJobNotStartedIsTakenOffByTheDesk(t *testing.T) {
	s := server(t)
	c := s.counter()
	j, b, clerk := c.benchJob(), s.as(mechanic), s.as(desk)
	path, jobPage := addServicePath(j.ID)+"/off", "/jobs/"+strconv.FormatInt(j.ID, 10)
	for code, want := range map[string]string{"": "Choose a service.", "lower-leg": "“Lower-leg service” is the only service of this job"} {
		if got := clerk.get(path + "?service=" + code).want(http.StatusUnprocessableEntity).wrong("service"); !strings.HasPrefix(got, want) {
			t.Errorf("%q: beside the field stands %q", code, got)
		}
	}
	clerk.get(path + "?service=%00").want(http.StatusUnprocessableEntity)
	clerk.get(path+"?service=polish").want(http.StatusConflict).wantWords("[role=alert]", "This job does not have that service any more.")
	clerk.post(addServicePath(j.ID), "service", "air-spring").wantTo(jobPage + "?done=service")
	p := clerk.get(path+"?service=air-spring").want(http.StatusOK).wantWords("#content", "Work has not started: its steps do not come on the sheet.")
	clerk.confirm(p, path, "reason", "Changed her mind.").wantTo(jobPage + "?done=service-off")
	clerk.post(addServicePath(j.ID), "service", "air-spring").wantTo(jobPage + "?done=service")
	b.post(jobPage + "/start").want(http.StatusSeeOther)
	clerk.post(path, "service", "air-spring", "reason", "Changed her mind.").want(http.StatusForbidden).wantWords("main", "a service is taken off by a mechanic now")
	if n := clerk.get(jobPage).Find("#take-off").Length(); n != 0 {
		t.Error("the desk is offered what a mechanic takes off")
	}
}
