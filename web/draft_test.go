package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// writer is a browser at the draft of a model.
type writer struct {
	*browser
	model int64
}

func (w writer) path(rest string) string { return fmt.Sprintf("/models/%d%s", w.model, rest) }

// draftForm sends a form about the draft, as a page of the draft shows it.
func (w writer) draftForm(page, path string, fields ...string) *page {
	w.t.Helper()
	p := w.get(w.path(page)).want(http.StatusOK)
	form := p.Find(`form[action="` + w.path(path) + `"]`)
	for _, name := range []string{"intent", "sheet", "version"} {
		fields = append(fields, name, form.Find("input[name="+name+"]").AttrOr("value", ""))
	}
	return w.post(w.path(path), fields...)
}

// put sends the form for a value of a key, in the place that is likeliest.
func (w writer) put(key, nominal string, more ...string) *page {
	w.t.Helper()
	page := "/draft/value?key=" + strings.ReplaceAll(key, " ", "+")
	p := w.get(w.path(page)).want(http.StatusOK)
	fields := append([]string{"key", key, "nominal", nominal}, more...)
	given := map[string]bool{}
	for i := 0; i < len(more); i += 2 {
		given[more[i]] = true
	}
	if place := p.Find(`input[name=place][checked], input[name=place][type=hidden]`); !given["place"] {
		fields = append(fields, "place", place.AttrOr("value", ""))
	}
	if !given["source"] {
		fields = append(fields, "source", spec.FromDocument, "document", p.Find("select[name=document] option").Last().AttrOr("value", ""), "page", "41")
	}
	return w.draftForm(page, "/draft/value", fields...)
}

// library is a shop whose procedures are in, with a model that was entered by
// form and its draft begun.
func (s *site) library() writer {
	s.t.Helper()
	s.write(func(tx pgx.Tx, by history.By) error { return procedure.Install(context.Background(), tx, by) })
	w := writer{browser: s.as(mechanic)}
	w.post("/models", "kind", "fork", "maker", "Halvard", "name", "Sill", "years", "2021 to 2024", "travel", "140", "spring", "air", "spring_leg", "left",
		"damper", "cartridge", "damper_leg", "right", "lowers", "arch front", "adjusters", "rebound").want(http.StatusSeeOther)
	list, err := spec.Models(context.Background(), s.pool)
	if err != nil || len(list) != 1 {
		s.t.Fatalf("models: %+v, %v", list, err)
	}
	w.model = list[0].ID
	w.form(w.path("/change"), w.path("/documents"), "title", "Service manual", "edition", "3rd edition").wantTo(w.path("/change#documents"))
	w.form(w.path("/draft"), w.path("/draft"), "from", "empty").wantTo(w.path("/draft?done=begin"))
	return w
}

func (w writer) draft() spec.Sheet {
	w.t.Helper()
	s, err := spec.Draft(context.Background(), w.pool, w.model)
	if err != nil {
		w.t.Fatal(err)
	}
	return s
}

// checks ticks every line of the draft and puts it in force.
func (b *browser) checks(model int64) *page {
	b.t.Helper()
	w := writer{b, model}
	var fields []string
	b.get(w.path("/draft/check")).want(http.StatusOK).Find("input[name=compared]").Each(func(_ int, tick *goquery.Selection) {
		fields = append(fields, "compared", tick.AttrOr("value", ""))
	})
	return w.draftForm("/draft/check", "/draft/check", fields...)
}

func TestADraftIsWrittenByFormsAndCheckedByASecondPerson(t *testing.T) {
	s := server(t)
	w, second := s.library(), s.as(owner)
	w.get(w.path("/draft")).want(200).wantWords("#values + p", "None yet").
		wantWords("#missing + ul", "Foot bolt or nut, foot, rider’s left").wantWords("#missing + ul", "Lower-leg service, Air-spring service")
	w.put("foot bolt", "7.3 ± 0.5 N·m").wantTo(w.path("/draft?done=value"))
	w.put("lower-leg oil", "8 to 10 cc", "fluid", "bath oil, 10 weight").wantTo(w.path("/draft?done=value"))
	w.put("air top cap", "245 lbf·in").wantTo(w.path("/draft?done=value"))
	p := w.get(w.path("/draft")).want(200)
	p.wantWords(`[data-key="foot bolt"]`, "7.3 N·m 6.8 to 7.8").wantWords(`[data-key="foot bolt"]`, "Service manual, 3rd edition, page 41").
		wantWords(`[data-key="foot bolt"] th`, "foot, rider’s right and left").wantWords(`[data-key="air top cap"] th`, "top, rider’s left").
		wantWords(`[data-key="lower-leg oil"]`, "9 mL 8 to 10 bath oil, 10 weight").
		wantWords(".head .quiet", "Another person than those who wrote the sheet checks it.")
	if missing := p.words("#missing + ul"); strings.Contains(missing, "Foot bolt") || !strings.Contains(missing, "Air-side oil") {
		t.Errorf("missing: %q", missing)
	}
	w.get(w.path("/draft/check")).want(200).wantWords(".state.eyes", "Another person")
	w.get(w.path("")).want(200).wantWords(".head .state", "no spec sheet yet")

	at := writer{second, w.model}
	bad := at.draftForm("/draft/check", "/draft/check", "compared", "foot bolt@foot-left foot-right").want(http.StatusUnprocessableEntity)
	if got := bad.wrong("compared"); !strings.Contains(got, "2 of them are not ticked") || bad.Find("input[name=compared][checked]").Length() != 1 {
		t.Errorf("one line alone: %q, %d ticks kept", got, bad.Find("input[name=compared][checked]").Length())
	}
	second.checks(w.model).wantTo(modelPath(w.model, "checked"))
	w.get(modelPath(w.model, "checked")).wantWords("[role=status]", "in force").wantWords(".lead b", "Revision 1, current").
		wantWords(".state.eyes", "checked against its sources by "+second.person.Name).wantWords("#revisions + ul", "checked by "+second.person.Name+" on Tue 13 Oct")
}

// A new shop enters its own fork and wrench by forms alone, and signs a
// lower-leg service with them from drop-off to ready. The values are common
// practice (no source).
func TestAForkAndAWrenchEnteredByFormsServeAtTheBench(t *testing.T) {
	front := newFrontDesk(t)
	s := front.site
	w := s.library()
	w.put("foot bolt", "7.3 ± 0.5 N·m").want(http.StatusSeeOther)
	w.put("lower-leg oil", "10 ± 1 mL", "fluid", "bath oil, 10 weight", "source", spec.FromMeasuring, "words", "on 3 forks").want(http.StatusSeeOther)
	w.put("rebound range", "17 ± 1").want(http.StatusSeeOther)
	s.as(owner).checks(w.model).want(http.StatusSeeOther)
	w.post("/tools", "name", "Wrench 3", "kind", "click wrench", "range", "2 to 15 N·m", "graduation", "0.1").want(http.StatusSeeOther)
	wrench := fmt.Sprintf("/tools/%d", s.toolNamed("Wrench 3").ID)
	w.form(wrench+"/change", wrench+"/calibration", "done_on", "2026-09-01", "passed", "yes").want(http.StatusSeeOther)

	front.post("/drop-off", front.fields("unit0.unit", "new", "unit0.kind", "fork", "unit0.model", fmt.Sprint(w.model))...).want(http.StatusSeeOther)
	var jobID int64
	if err := s.pool.QueryRow(t.Context(), "select max(id) from job").Scan(&jobID); err != nil {
		t.Fatal(err)
	}
	j, err := job.Get(t.Context(), s.pool, jobID)
	if err != nil {
		t.Fatal(err)
	}
	s.fromStartToReady(j)
	sheet, err := bench.Get(t.Context(), s.pool, jobID)
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]struct {
		si     float64
		source string
		fluid  string
	}{
		"Z3": {10e-6, "measured by " + w.person.Name + ", on 3 forks", "bath oil, 10 weight"},
		"Z4": {10e-6, "measured by " + w.person.Name + ", on 3 forks", "bath oil, 10 weight"},
		"Z7": {7.3, "Service manual, 3rd edition, page 41", ""},
		"Z8": {7.3, "Service manual, 3rd edition, page 41", ""},
	} {
		step := sheet.ByKey(key)
		if step == nil || step.Done == nil || step.Done.ValueSI == nil || math.Abs(*step.Done.ValueSI-want.si) > 1e-9 ||
			step.Source != want.source || step.Done.Fluid != want.fluid || step.GivenHere {
			t.Errorf("%s is signed as %+v, its source %q", key, step.Done, step.Source)
		}
	}
	w.get(wrench).wantWords("#uses + table", fmt.Sprint(j.Number))
}

func TestTwoRevisionsStandBesideEachOther(t *testing.T) {
	s := server(t)
	w, second := s.library(), s.as(owner)
	w.put("foot bolt", "7 ± 0.5 N·m").want(http.StatusSeeOther)
	w.put("knob screw", "1.1 N·m").want(http.StatusSeeOther)
	second.checks(w.model).want(http.StatusSeeOther)
	w.draftForm("/draft", "/draft", "from", "current").want(http.StatusSeeOther)
	w.get(w.path("/draft")).want(200).wantWords("#changes + p", "Both say the same")
	second.get(w.path("/draft/check")).want(200).wantWords("main", "nothing to check")
	of := func(key string) string {
		for _, v := range w.draft().Values {
			if v.Key == key {
				return fmt.Sprint(v.ID)
			}
		}
		t.Fatalf("no %s on the draft", key)
		return ""
	}
	foot := of("foot bolt")
	page := w.get(w.path("/draft/value?value=" + foot)).want(200)
	if got := page.value("nominal"); got != "7 ± 0.5 N·m" {
		t.Errorf("the form begins with %q, want what was typed", got)
	}
	w.draftForm("/draft/value?value="+foot, "/draft/value", "value", foot, "key", "foot bolt", "place", "foot-left foot-right", "nominal", "7.3 ± 0.5 N·m",
		"source", spec.FromJudgement, "words", "the Berm").want(http.StatusSeeOther)
	w.put("axle", "12 ± 2 N·m").want(http.StatusSeeOther)
	knob := of("knob screw")
	w.get(w.path("/draft/value?key=knob+screw")).want(200).wantWords("main", "Take it off the draft")
	w.draftForm("/draft/value?value="+knob, "/draft/remove", "value", knob).wantTo(w.path("/draft?done=remove"))
	second.checks(w.model).want(http.StatusSeeOther)

	p := w.get(w.path("/sheets/2")).want(200).wantWords(".head .state", "checked against its sources")
	p.wantWords("#diff", "From revision 1 to 2").
		wantWords(`[data-difference^="foot bolt"] del`, "7 N·m, 6.5 to 7.5").wantWords(`[data-difference^="foot bolt"] ins`, "7.3 N·m, 6.8 to 7.8").
		wantWords(`[data-difference^="foot bolt"]`, "own judgement of "+w.person.Name+", by comparison with the Berm").
		wantWords(`[data-difference^="axle"] td:nth-of-type(1)`, "no value").wantWords(`[data-difference^="knob screw"] td:nth-of-type(2)`, "no value")
	past := s.as(desk).get(w.path("/sheets/1")).want(200).wantWords(".head .state", "past").wantWords(`[data-key="foot bolt"] .fig`, "7 N·m").wantWords("#diff", "The first revision")
	if past.Find(`[data-key="axle"]`).Length() != 0 {
		t.Error("the past sheet shows a value of the later one")
	}
	s.as(desk).get(w.path("/sheets/1?with=2")).wantWords("#diff", "From revision 1 to 2")
	for _, none := range []string{"/sheets/3", "/sheets/x", "/sheets/99999999999"} {
		w.get(w.path(none)).want(http.StatusNotFound)
	}
}

func TestAnUnusualValueIsAskedBackAndKept(t *testing.T) {
	w := server(t).library()
	p := w.put("foot bolt", "73 N·m").want(http.StatusUnprocessableEntity)
	if got := p.wrong("sure"); !strings.HasPrefix(got, "Really 73") || p.value("nominal") != "73 N·m" || p.Find("select[name=document] option[selected]").Length() != 1 {
		t.Errorf("asked back with %q, the input %q", got, p.value("nominal"))
	}
	w.put("foot bolt", "73 N·m", "sure", "yes").want(http.StatusSeeOther)
	if v := w.draft().Values; len(v) != 1 || v[0].NominalSI != 73 {
		t.Errorf("stored %+v", v)
	}
}

func TestWhatCannotStandOnADraftIsSaidBesideItsField(t *testing.T) {
	w := server(t).library()
	for _, c := range []struct {
		key, nominal string
		more         []string
		field, words string
	}{
		{"foot bolt", "tight", nil, "nominal", "does not begin with a number"},
		{"foot bolt", "7.3 bar", nil, "nominal", "pressure"},
		{"foot bolt", "5 ± 6", nil, "nominal", "below zero"},
		{"maximum pressure", "140 to 150 psi", nil, "nominal", "limit"},
		{"lower-leg oil", "10 mL", nil, "fluid", "which fluid"},
		{"foot bolt", "7.3", []string{"source", ""}, "source", "where the value comes from"},
		{"foot bolt", "7.3", []string{"source", "document"}, "document", "one of this model’s documents"},
		{"foot bolt", "7.3", []string{"source", "judgement"}, "words", "what you compare with"},
		{"foot bolt", "7.3", []string{"place", "saddle"}, "place", "place of the drawing"},
		// Common practice (no source): a life hangs on these.
		{"stem", "5", []string{"source", "judgement", "words", "the Ledge"}, "source", "only the maker’s document serves"},
		{"axle", "12", []string{"source", "judgement", "words", "the Ledge"}, "source", "only the maker’s document serves"},
		{"crown pinch", "7", []string{"source", "judgement", "words", "the Ledge"}, "source", "only the maker’s document serves"},
		{"maximum pressure", "145", []string{"source", "judgement", "words", "the Ledge"}, "source", "only the maker’s document serves"},
	} {
		p := w.put(c.key, c.nominal, c.more...).want(http.StatusUnprocessableEntity)
		if got := p.wrong(c.field); !strings.Contains(got, c.words) || p.value("nominal") != c.nominal {
			t.Errorf("%s %q %q: beside %s stands %q, want %q; the input is %q", c.key, c.nominal, c.more, c.field, got, c.words, p.value("nominal"))
		}
	}
	if v := w.draft().Values; len(v) != 0 {
		t.Errorf("stored all the same: %+v", v)
	}
	p := w.get(w.path("/draft/value?key=stem")).want(200)
	if _, off := p.Find(`input[value=judgement]`).Attr("disabled"); !off {
		t.Error("own judgement is offered for the stem")
	}
	w.get(w.path("/draft/value?key=ball+joint")).want(http.StatusNotFound)
}

func TestWhoeverIsAloneReadsADraftBack(t *testing.T) {
	w := server(t).library()
	w.put("foot bolt", "7.3 N·m").want(http.StatusSeeOther)
	w.get(w.path("/draft")).wantWords(".head a.main", "Read it back")
	w.get(w.path("/draft/check")).wantWords(".lead", "Nobody else here can check it")
	w.checks(w.model).want(http.StatusSeeOther)
	w.get(w.path("")).wantWords(".head .state.peak", "checked alone by "+w.person.Name)
}

func TestOneDraftAtATimeAndNoneOverAnother(t *testing.T) {
	s := server(t)
	w := s.library()
	other := writer{s.as(owner), w.model}
	stale := other.get(w.path("/draft/value?key=knob+screw")).want(200)
	w.put("foot bolt", "7.3 N·m").want(http.StatusSeeOther)
	sent := func(name string) string {
		return stale.Find(`form[action="`+w.path("/draft/value")+`"] input[name=`+name+`]`).AttrOr("value", "")
	}
	fields := []string{"key", "knob screw", "place", "knob", "nominal", "1.1 N·m", "source", spec.FromJudgement, "words", "the Ledge of 2022"}
	p := other.post(w.path("/draft/value"), append(fields, "intent", sent("intent"), "sheet", sent("sheet"), "version", sent("version"))...).want(http.StatusConflict)
	if p.wantWords("[role=alert]", "Somebody else changed this draft"); p.value("nominal") != "1.1 N·m" {
		t.Errorf("what was typed is lost: %q", p.value("nominal"))
	}
	other.post(w.path("/draft"), "from", "empty", "version", "1").want(http.StatusConflict).wantWords("[role=alert]", "Somebody is at the next revision")
	old := w.draft()
	w.draftForm("/draft", "/draft/drop").wantTo(modelPath(w.model, "drop"))
	w.form(w.path("/draft"), w.path("/draft"), "from", "empty").want(http.StatusSeeOther)
	w.post(w.path("/draft/value"), append(fields, "sheet", fmt.Sprint(old.ID), "version", "1")...).want(http.StatusConflict).wantWords("[role=alert]", "there no more")
}

func TestAModelIsEnteredAndCorrectedByForm(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	p := b.post("/models", "kind", "fork", "maker", "Halvard", "travel", "900", "adjusters", "rebound",
		"wheel", "700", "stanchion", "3.4", "axle", "square").want(http.StatusUnprocessableEntity)
	for _, field := range []string{"name", "travel", "spring", "damper", "wheel", "stanchion", "axle"} {
		if p.wrong(field) == "" {
			t.Errorf("nothing beside %s", field)
		}
	}
	if p.value("maker") != "Halvard" || p.Find(`input[name=adjusters][checked]`).Length() != 1 {
		t.Error("what was typed is lost")
	}
	w := s.library()
	b.post("/models", "kind", "fork", "maker", "Halvard", "name", "Sill", "years", "2021 to 2024", "spring", "air", "damper", "sealed").
		want(http.StatusUnprocessableEntity).wantWords("#f-name-error", "in the library already")
	at := writer{b, w.model}
	at.get(at.path("/change")).want(200).wantWords("form", "keep the steps and values they were started with")
	at.form(at.path("/change"), at.path("/change"), "kind", "seatpost", "maker", "Halvard", "name", "Sill", "spring", "none", "damper", "none").
		want(http.StatusUnprocessableEntity).wantWords("#f-kind-error", "add another model instead")
	at.form(at.path("/change"), at.path("/change"), "kind", "fork", "maker", "Halvard", "name", "Sill", "years", "2021 to 2025", "spring", "air", "spring_leg", "right",
		"damper", "sealed", "damper_leg", "left", "wheel", "584", "stanchion", "34.5", "crowns", "two", "steerer", "28.6-38.1", "axle", "15x110").
		wantTo(modelPath(w.model, "change"))
	at.get(at.path("")).wantWords(".lead", "2021 to 2025, air spring on the rider’s right, sealed damper on the rider’s left, "+
		"34.5 mm stanchions, 584 mm (27.5 in) wheel, two crowns, steerer 28.6 to 38.1 mm (1⅛ to 1½ in), tapered, axle 15 × 110 mm")
	again := at.get(at.path("/change"))
	if again.Find("select[name=wheel] option[selected]").AttrOr("value", "") != "584" || again.value("stanchion") != "34.5" {
		t.Errorf("the form begins with %s, %q", again.Find("select[name=wheel] option[selected]").Text(), again.value("stanchion"))
	}
	at.post(at.path("/change"), "version", "1", "kind", "fork", "maker", "x", "name", "y", "spring", "air", "damper", "sealed").want(http.StatusConflict)
	at.form(at.path("/change"), at.path("/documents"), "title", "").want(http.StatusUnprocessableEntity).wantWords("#f-title-error", "what the document is called")
	at.form(at.path("/change"), at.path("/documents"), "title", "Service manual", "edition", "3rd edition").want(http.StatusUnprocessableEntity).wantWords("#f-title-error", "on the list already")
	document := at.get(at.path("/change")).Find("input[name=document]").AttrOr("value", "")
	at.form(at.path("/change"), at.path("/documents/remove"), "document", document).want(http.StatusSeeOther)
	at.get(at.path("/change")).wantWords("#documents + p", "None yet")
}

// What hurts people when it is wrong asks for the pass-phrase.
func TestAWatchedPINWritesNoSpecSheet(t *testing.T) {
	for _, rt := range routes {
		if rt.method == http.MethodPost && strings.HasPrefix(rt.pattern, "/models") && !rt.phrase {
			t.Errorf("%s is open to a PIN", rt.pattern)
		}
	}
}
