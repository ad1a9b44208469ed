package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/spec"
)

// aFork is a mechanic at a customer's fork that was just taken in, whose model
// has foot bolts at 7.3 N·m.
func aFork(t *testing.T) (s *site, b *browser, path string) {
	t.Helper()
	front := newFrontDesk(t)
	s = front.site
	model := s.addModel("Sill", footBolts())
	front.post("/drop-off", front.fields("unit0.unit", "new", "unit0.kind", "fork", "unit0.model", fmt.Sprint(model))...).want(http.StatusSeeOther)
	var unit int64
	if err := s.pool.QueryRow(s.t.Context(), "select max(id) from unit").Scan(&unit); err != nil {
		s.t.Fatal(err)
	}
	return s, s.as(mechanic), fmt.Sprintf("/units/%d", unit)
}

func TestAForkIsWorkedOnAsItIsInside(t *testing.T) {
	s, b, path := aFork(t)
	b.get(path).want(200).wantWords("#inside + p", "As its model has it").wantWords("#inside ~ .links", "Change what is inside")
	b.get(path+"/inside").want(200).wantWords("select[name=spring] option:first-child", "as the model has it: air spring")
	b.form(path+"/inside", path+"/inside", "spring", "coil", "rate", "40 lbf/in", "travel", "120", "notes", "Coil kit, thread mended.").
		wantTo(path + "/inside?done=inside")
	b.get(path+"/inside/value?key=foot+bolt").want(200).wantWords("h1", "Foot bolt or nut, this fork alone").wantWords("main", "Usually 5 to 10 N·m")
	b.form(path+"/inside/value?key=foot+bolt", path+"/inside/value", "key", "foot bolt", "place", "foot-left foot-right", "nominal", "6 ± 0.5 N·m",
		"source", "judgement", "words", "the Ledge").wantTo(path + "/inside?done=value")
	book := b.get(path).want(200)
	for _, words := range []string{"coil spring", "40 lbf/in", "120 mm", "Coil kit, thread mended.", "Foot bolt or nut, foot, rider’s right and left: 6 N·m, 5.5 to 6.5",
		"own judgement of " + b.person.Name + ", by comparison with the Ledge"} {
		book.wantWords("[aria-labelledby=inside]", words)
	}
	book.wantWords("#history-part", "inside noted").wantWords("#history-part", "own value put")

	var jobID int64
	if err := s.pool.QueryRow(t.Context(), "select max(id) from job").Scan(&jobID); err != nil {
		t.Fatal(err)
	}
	b.form(fmt.Sprintf("/jobs/%d", jobID), fmt.Sprintf("/jobs/%d/start", jobID)).want(http.StatusSeeOther)
	sheet, err := bench.Get(t.Context(), s.pool, jobID)
	if err != nil {
		t.Fatal(err)
	}
	z7 := sheet.ByKey("Z7")
	if sheet.ByKey("V2") != nil || z7 == nil || *z7.NominalSI != 6 {
		t.Errorf("the sheet is not of the fork inside: %+v", z7)
	}
	b.get(benchPath(jobID)).want(200).wantWords("#inside", "This fork as it is inside").wantWords("#inside", "coil spring")
	if want := "this fork: own judgement of " + b.person.Name + ", by comparison with the Ledge"; z7.Source != want {
		t.Errorf("the source is %q, want %q", z7.Source, want)
	}

	value := b.get(path+"/inside").Find("input[name=value]").AttrOr("value", "")
	b.form(path+"/inside", path+"/inside/remove", "value", value).want(http.StatusSeeOther)
	if in, err := spec.InsideOf(t.Context(), s.pool, sheet.Job.UnitID); err != nil || len(in.Values) != 0 {
		t.Errorf("taken back: %+v, %v", in.Values, err)
	}
}

func TestWhatCannotBeInsideIsSaidBesideItsField(t *testing.T) {
	s, b, path := aFork(t)
	p := b.form(path+"/inside", path+"/inside", "spring", "air", "rate", "hard", "travel", "900", "spacers", "many").want(http.StatusUnprocessableEntity)
	for _, field := range []string{"rate", "spacers"} {
		if p.wrong(field) == "" {
			t.Errorf("nothing beside %s", field)
		}
	}
	if p.value("rate") != "hard" || p.value("travel") != "900" {
		t.Error("what was typed is lost")
	}
	b.form(path+"/inside", path+"/inside", "travel", "900").want(http.StatusUnprocessableEntity).wantWords("#f-travel-error", "from 1 to 400")
	for _, c := range []struct{ key, nominal, source, words, field, says string }{
		{"stem", "5", "judgement", "the Ledge", "source", "only the maker’s document serves"},
		{"foot bolt", "5 bar", "judgement", "the Ledge", "nominal", "pressure"},
		{"foot bolt", "73", "judgement", "the Ledge", "sure", "Really 73"},
		{"foot bolt", "7", "document", "", "words", "which document"},
		{"lower-leg oil", "10", "measured", "", "fluid", "which fluid"},
	} {
		page := path + "/inside/value?key=" + strings.ReplaceAll(c.key, " ", "+")
		p := b.form(page, path+"/inside/value", "key", c.key, "place", "", "nominal", c.nominal, "source", c.source, "words", c.words).want(http.StatusUnprocessableEntity)
		if got := p.wrong(c.field); !strings.Contains(got, c.says) || p.value("nominal") != c.nominal {
			t.Errorf("%s %s: beside %s stands %q, want %q", c.key, c.nominal, c.field, got, c.says)
		}
	}
	b.get(path + "/inside/value?key=ball+joint").want(http.StatusNotFound)
	b.get("/units/9999/inside").want(http.StatusNotFound)
	s.as(desk).get(path + "/inside").want(http.StatusForbidden)
	for _, rt := range routes {
		if rt.method == http.MethodPost && strings.HasPrefix(rt.pattern, "/units/{id}/inside/") && !rt.phrase {
			t.Errorf("%s is open to a PIN", rt.pattern)
		}
	}
}
