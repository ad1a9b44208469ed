package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/bench"
)

// chartRows fills the rows of a set-up chart, "kg psi rebound" each, beginning with
// row 1 of the form.
func chartRows(rows ...string) []string {
	var fields []string
	for i, row := range rows {
		for j, text := range strings.Fields(row) {
			fields = append(fields, fmt.Sprintf("row%d.%s", i+1, []string{"kg", "pressure", "rebound"}[j]), text)
		}
	}
	return fields
}

// A chart goes from the form over the second person to the bench. The figures
// are invented; 82 kg lies seven tenths between 75 and 85, by hand.
func TestASetUpChartServesAtTheBench(t *testing.T) {
	front := newFrontDesk(t)
	s := front.site
	w := s.library()
	w.put("foot bolt", "7.3 ± 0.5 N·m").want(http.StatusSeeOther)
	measured := []string{"source", "measured", "words", "on 3 forks"}
	w.get(w.path("/draft")).want(200).wantWords("#draft-setup + p", "None yet")
	w.draftForm("/draft/chart", "/draft/chart", append(chartRows("85 95 6", "75 84 7", "55 62 10"), measured...)...).wantTo(w.path("/draft?done=chart"))
	w.get(w.path("/draft")).want(200).wantWords("#draft-setup + table tbody tr:first-child", "55 kg62 psi10")
	check := s.as(owner).get(w.path("/draft/check")).want(200)
	if n := check.Find(`input[name=compared][value^="set-up chart@"]`).Length(); n != 3 {
		t.Errorf("%d rows to compare", n)
	}
	s.as(owner).checks(w.model).want(http.StatusSeeOther)
	shown := w.get(w.path("")).want(200)
	shown.wantWords("#setup-chart tbody tr:nth-child(2)", "75 kg84 psi7").wantWords("#setup-chart .quiet", "measured by "+w.person.Name+", on 3 forks")
	if shown.Find("#setup-chart svg.chart circle").Length() != 3 {
		t.Error("the chart is not drawn")
	}

	calculator := func(kg string) *page {
		return w.get(calculatorURL("riders", "model", fmt.Sprint(w.model), "rider", kg))
	}
	calculator("82 kg").wantWords("main", "By the set-up chart").wantWords("main", "92 psi").wantWords("main", "not enough history")
	if got := calculator("130 kg").wrong("model"); !strings.Contains(got, "Not enough history") {
		t.Errorf("beyond the chart: %q", got)
	}

	for _, c := range []struct{ kg, pressure, rebound string }{
		{"82 kg", "By the chart for 82 kg: 92 psi", "By the chart for 82 kg: 6 clicks from closed"},
		{"130 kg", "Nothing for 130 kg: the chart ends at 85 kg", "Nothing for 130 kg: the chart ends at 85 kg"},
		{"", "", ""},
	} {
		front.post("/drop-off", front.fields("unit0.unit", "new", "unit0.kind", "fork", "unit0.model", fmt.Sprint(w.model), "unit0.rider", c.kg)...).want(http.StatusSeeOther)
		var jobID int64
		if err := s.pool.QueryRow(t.Context(), "select max(id) from job").Scan(&jobID); err != nil {
			t.Fatal(err)
		}
		w.form(fmt.Sprintf("/jobs/%d", jobID), fmt.Sprintf("/jobs/%d/start", jobID)).want(http.StatusSeeOther)
		sheet, err := bench.Get(t.Context(), s.pool, jobID)
		if err != nil {
			t.Fatal(err)
		}
		charted, err := bench.ChartedAt(t.Context(), s.pool, sheet, "psi")
		if err != nil || (c.kg == "") != (len(charted) == 0) {
			t.Fatalf("%s: %+v, %v", c.kg, charted, err)
		}
		for key, want := range map[string]string{"V2": c.pressure, "V3.rebound": c.rebound} {
			if _, ok := charted[key]; ok != (want != "") {
				t.Errorf("%s, %s: %+v", c.kg, key, charted[key])
			}
		}
		if c.kg == "82 kg" && (*charted["V3.rebound"].Count != 6 || int(*charted["V2"].PressurePa/6894.757+0.5) != 92) {
			t.Errorf("for 82 kg: %+v", charted)
		}
	}
}

func TestASetUpChartThatCannotBeIsSaidBesideItsField(t *testing.T) {
	w := server(t).library()
	w.put("maximum pressure", "100 psi").want(http.StatusSeeOther)
	measured := []string{"source", "measured", "words", "on 3 forks"}
	for _, c := range []struct {
		rows  []string
		field string
		says  string
	}{
		{[]string{"85 95 6"}, "rows", "from 2 to 20 rows"},
		{[]string{"85 120 6", "55 62 10"}, "row1.pressure", "Never above the maximum on this sheet, 100 psi"},
		{[]string{"85 60 6", "55 62 10"}, "sure", "Really less pressure at 85 kg than at 55 kg?"},
		{[]string{"85 95 12", "55 62 10"}, "sure", "Really less rebound damping"},
		{[]string{"85 95 6", "heavy 62 10"}, "row2.kg", "number"},
		{[]string{"85 95 6.5", "55 62 10"}, "row1.rebound", "whole number"},
		{[]string{"85 95 6", "55 62"}, "row2.rebound", "Fill the column"},
		{[]string{"85 95 6", "85 62 10"}, "row2.kg", "twice"},
	} {
		p := w.draftForm("/draft/chart", "/draft/chart", append(chartRows(c.rows...), measured...)...).want(http.StatusUnprocessableEntity)
		if got := p.wrong(c.field); !strings.Contains(got, c.says) || p.value("row1.kg") != "85" {
			t.Errorf("%q: beside %s stands %q, want %q; the page says %q", c.rows, c.field, got, c.says, p.words("[role=alert]"))
		}
	}
	w.draftForm("/draft/chart", "/draft/chart", append(chartRows("85 60 6", "55 62 10"), append(measured, "sure", "yes")...)...).want(http.StatusSeeOther)
	if rows := w.draft().Setup.Rows; len(rows) != 2 {
		t.Errorf("stored %+v", rows)
	}
	w.draftForm("/draft/chart", "/draft/chart", measured...).want(http.StatusSeeOther)
	if rows := w.draft().Setup.Rows; len(rows) != 0 {
		t.Errorf("still there: %+v", rows)
	}
}
