package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/tool"
)

// form sends the form for path as the page shows it, with its intent and
// version and these fields.
func (b *browser) form(page, path string, fields ...string) *page {
	b.t.Helper()
	p := b.get(page).want(http.StatusOK)
	version := p.Find(`form[action="`+path+`"] input[name=version]`).AttrOr("value", "")
	return b.post(path, append(fields, "intent", p.intent(path), "version", version)...)
}

func (s *site) toolNamed(name string) tool.Tool {
	s.t.Helper()
	list, err := tool.List(context.Background(), s.pool)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, t := range list {
		if t.Name == name {
			return t
		}
	}
	s.t.Fatalf("no tool %s among %+v", name, list)
	return tool.Tool{}
}

func TestAToolIsAddedByForm(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	b.get("/tools").want(200).wantWords("main", "No torque tool is on the list yet")
	intent := b.get("/tools/new").want(200).intent("/tools")
	var to string
	for range 2 {
		to = b.post("/tools", "intent", intent, "name", "Wrench 3", "kind", "click wrench", "range", "20 to 200 in-lb", "graduation", "5", "serial", "TL-003").want(http.StatusSeeOther).to
	}
	got := s.toolNamed("Wrench 3")
	// 200 lbf·in is 22.597 N·m: NIST SP 811, appendix B.8.
	if to != toolPath(got.ID, "added") || got.Graduation != 5 || got.Unit != "lbf·in" || got.RangeMaxNm < 22.5969 || got.RangeMaxNm > 22.5971 {
		t.Fatalf("leads to %q; added %+v", to, got)
	}
	b.get(to).want(200).wantWords("[role=status]", "serves for nothing until a calibration").
		wantWords(".head .state", "never calibrated").wantWords(".facts", "20 to 200 lbf·in")
	b.get("/tools").wantWords("tbody tr", "5 lbf·in").wantWords("tbody .state", "never calibrated")
}

func TestAToolThatCannotBeIsAskedForAgain(t *testing.T) {
	b := server(t).as(owner)
	for _, c := range []struct{ name, value, field, words string }{
		{"range", "25 N·m", "range", "5 to 25 N·m"},
		{"range", "25 to 5 N·m", "range", "begins above its end"},
		{"range", "5 to 25 bar", "range", "pressure"},
		{"range", "0 to 25 N·m", "range", "above zero"},
		{"graduation", "", "graduation", "step between two marks"},
		{"graduation", "1 lbf·in", "graduation", "in N·m too"},
		{"graduation", "0", "graduation", "above zero"},
		{"name", "", "name", "Give the tool the name"},
		{"kind", "hammer", "kind", "Choose the kind"},
	} {
		sent := map[string]string{"name": "Wrench 3", "kind": "click wrench", "range": "5 to 25 N·m", "graduation": "0.5"}
		sent[c.name] = c.value
		p := b.post("/tools", "name", sent["name"], "kind", sent["kind"], "range", sent["range"], "graduation", sent["graduation"]).want(http.StatusUnprocessableEntity)
		if got := p.wrong(c.field); !strings.Contains(got, c.words) {
			t.Errorf("%s %q: beside it %q, want %q", c.name, c.value, got, c.words)
		}
		if p.value("range") != sent["range"] || p.value("name") != sent["name"] {
			t.Errorf("%s %q: what was typed is lost", c.name, c.value)
		}
	}
	p := b.post("/tools", "name", " ", "kind", "hammer", "range", "wide", "graduation", "fine").want(http.StatusUnprocessableEntity)
	for field, words := range map[string]string{"name": "Give the tool the name", "kind": "Choose the kind", "range": "not clear as a range", "graduation": "does not begin with a number"} {
		if got := p.wrong(field); !strings.Contains(got, words) {
			t.Errorf("of four faults at once: beside %s %q, want %q", field, got, words)
		}
	}
	p = b.post("/tools", "name", "Wrench 3", "kind", "click wrench", "range", "wide", "graduation", "0.5").want(http.StatusUnprocessableEntity)
	if got := p.wrong("graduation"); got != "" {
		t.Errorf("beside a step that is right while the range is not: %q", got)
	}
	b.get("/tools").wantWords("main", "No torque tool")
}

func TestAToolIsCalibratedTakenOutAndCorrected(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	b.post("/tools", "name", "Wrench 3", "kind", "click wrench", "range", "2 to 15 N·m", "graduation", "0.1").want(http.StatusSeeOther)
	path := fmt.Sprintf("/tools/%d", s.toolNamed("Wrench 3").ID)
	forms := path + "/change"
	p := b.form(forms, path+"/calibration", "done_on", "2026-11-01").want(http.StatusUnprocessableEntity)
	if p.wrong("passed") == "" || p.value("done_on") != "2026-11-01" {
		t.Errorf("without a result: %s", p.words("[role=alert]"))
	}
	b.form(forms, path+"/calibration", "done_on", "2026-11-01", "passed", "yes").want(http.StatusUnprocessableEntity).wantWords("[role=alert]", "has not come yet")
	b.form(forms, path+"/calibration", "done_on", "2026-03-02", "passed", "yes", "certificate", "NB 26-118").wantTo(path + "?done=calibration")
	b.get(path).wantWords(".head .state", "in use").wantWords(".facts", "2 March 2027").wantWords("#calibrations + table", "NB 26-118")

	if got := s.as(owner).get("/shop").row("Torque tools"); got != "1 of 1 in order, the next calibration by 2 March 2027" {
		t.Errorf("the shop's page says %q", got)
	}

	b.form(path, path+"/out", "state", "in use", "reason", "why not").want(http.StatusUnprocessableEntity)
	b.form(path, path+"/out", "state", "withdrawn", "reason", "it fell on the floor").wantTo(path + "?done=out")
	b.get(path).wantWords(".head .state", "withdrawn").wantWords(".head", "serves for nothing until it is back in use").wantWords("main", "it fell on the floor")
	b.post(path+"/return", "version", "1", "reason", "fine").want(http.StatusConflict)
	b.form(forms, path+"/return", "reason", "calibrated").wantTo(path + "?done=return")

	b.form(forms, path+"/change", "name", "Wrench 3", "kind", "beam wrench", "range", "2 to 16", "graduation", "0.5").wantTo(path + "?done=change")
	if got := s.toolNamed("Wrench 3"); got.RangeMaxNm != 16 || got.Kind != "beam wrench" || got.State != "in use" || !got.Passed {
		t.Errorf("corrected: %+v", got)
	}
}

func TestAToolShowsWhereItWasUsedAndWhatAFailureMeans(t *testing.T) {
	c := server(t).counter()
	j, b := c.benchJob(), c.as(mechanic)
	path := fmt.Sprintf("/tools/%d", c.toolNamed("Wrench 3").ID)
	b.get(path).want(200).wantWords("#uses ~ p", "Nothing has been signed with it yet")
	c.onBench(b, j, "Z9")
	page := b.get(path).want(200).wantWords("#uses + table", "Torque the foot").wantWords("#uses + table", "7.3 N·m").wantWords("#uses + table", strconv.Itoa(j.Number))
	if n := page.Find("#uses + table tbody tr").Length(); n != 2 {
		t.Errorf("%d uses, want both feet", n)
	}
	b.form(path+"/change", path+"/calibration", "done_on", "2026-10-12", "passed", "no").want(http.StatusSeeOther)
	b.get(path).want(200).wantWords(".caution", "1 job was signed with it since 13 July, the day it last passed").
		wantWords("#doubt ~ table", strconv.Itoa(j.Number)).wantWords("#doubt ~ table", "Torque the foot, rider’s left; Torque the foot, rider’s right").
		wantWords(".head", "serves for nothing until it is calibrated")
	// Put right and passed on the day it was found out, it leaves what it did in doubt.
	b.form(path+"/change", path+"/calibration", "done_on", "2026-10-13", "passed", "no").want(http.StatusSeeOther)
	b.form(path+"/change", path+"/calibration", "done_on", "2026-10-13", "passed", "yes").want(http.StatusSeeOther)
	b.get(path).want(200).wantWords(".caution", "It failed on 13 October and has passed since. 1 job was signed with it since 13 July").wantWords(".head .state", "in use")
	if list, err := bench.JobsOf(context.Background(), c.pool, c.toolNamed("Wrench 3").ID, dbtest.Now.Add(time.Hour), dbtest.Now.Add(2*time.Hour)); err != nil || len(list) != 0 {
		t.Errorf("used from an hour on: %v, %v", list, err)
	}
}

func TestAToolIsTriedAndJudgedAndFalls(t *testing.T) {
	s := server(t)
	b := s.as(mechanic)
	b.post("/tools", "name", "Wrench 3", "kind", "click wrench", "range", "2 to 10 N·m", "graduation", "0.1").want(http.StatusSeeOther)
	path := fmt.Sprintf("/tools/%d", s.toolNamed("Wrench 3").ID)
	forms := path + "/change"
	p := b.form(forms, path+"/calibration", "done_on", "2026-03-02", "passed", "yes", "share", "4", "set1", "5", "reference1", "4.70").want(http.StatusUnprocessableEntity)
	if got := p.wrong("passed"); !strings.Contains(got, "6.38 % off, more than the 4 %") || p.value("reference1") != "4.70" {
		t.Errorf("beside the result %q, kept %q", got, p.value("reference1"))
	}
	p = b.form(forms, path+"/calibration", "done_on", "2026-03-02", "passed", "yes", "share", "lots", "set1", "5").want(http.StatusUnprocessableEntity)
	if p.wrong("share") == "" || p.wrong("reference1") == "" {
		t.Errorf("beside the share %q, beside the reference %q", p.wrong("share"), p.wrong("reference1"))
	}
	b.form(forms, path+"/calibration", "done_on", "2026-03-02", "passed", "yes", "share", "4", "set1", "5.00", "reference1", "4.82").wantTo(path + "?done=calibration")
	b.get(path).wantWords(".facts", "±4 %, by its certificate").wantWords("#calibrations + table", "set to 5 N·m: says 3.73 % over")
	b.form(path, path+"/out", "state", "dropped", "reason", "off the bench").wantTo(path + "?done=out")
	b.get(path).wantWords(".head .state", "dropped, not calibrated since").wantWords(".head", "serves for nothing until it is calibrated")
}

func TestTheOwnerConfirmsWhatToolsMayBeOff(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	first := func(p *page) string { return p.Find("main form").First().Find(".state").Text() }
	if p := b.get("/tools/limits").want(200); first(p) != "not confirmed" {
		t.Errorf("at first it is %q", first(p))
	}
	p := b.post("/tools/limits", "kind", "click wrench", "small", "yes", "version", "0", "share", "60").want(http.StatusUnprocessableEntity)
	if p.wrong("share") == "" {
		t.Error("60 % has no words beside it")
	}
	b.post("/tools/limits", "kind", "click wrench", "small", "yes", "version", "0", "share", "5").wantTo("/tools/limits?done=limit")
	if p := b.get("/tools/limits"); first(p) != "confirmed" {
		t.Errorf("then it is %q", first(p))
	}
	b.post("/tools/limits", "kind", "click wrench", "small", "yes", "version", "0", "share", "4").want(http.StatusConflict)
}

// A PIN that somebody has watched takes a tool out of use, and puts none in.
func TestAWatchedPINTrustsNoTool(t *testing.T) {
	for _, rt := range routes {
		if !strings.HasPrefix(rt.pattern, "/tools") || rt.method != http.MethodPost {
			continue
		}
		if guarded := rt.pattern != "/tools/{id}/out"; rt.phrase != guarded {
			t.Errorf("%s: behind the pass-phrase %v, want %v", rt.pattern, rt.phrase, guarded)
		}
	}
}
