package spec

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"damperdesk/internal/quantity"
)

// chart makes the set-up chart of a model, which stands in place of the one it
// has. A chart that lacks a row would say other things between the others: it is
// taken whole or not at all.
func (p *planner) chart(m *ModelPlan, rows []csvRow) {
	var s Setup
	var taken []csvRow
	s.Unit, s.Sure = quantity.Unit(rows[0].Text("unit")), true
	for _, r := range rows {
		from, row := r.source(), r.setupRow(quantity.Unit(r.Text("unit")))
		p.document(m, &from)
		if len(taken) == 0 {
			s.Unit, s.From = quantity.Unit(r.Text("unit")), from
		} else if from.Source() != s.From.Source() || quantity.Unit(r.Text("unit")) != s.Unit {
			r.Wrong("source", "All rows of a chart have one source and one unit.")
		}
		if p.bad[r.Line] {
			continue
		}
		s.Sure = s.Sure && r.Text("sure") == "yes"
		s.Rows, taken = append(s.Rows, row), append(taken, r)
	}
	if len(taken) < len(rows) {
		p.leaveOut(taken)
		return
	}
	if s.Unit.Kind() != quantity.KindPressure {
		s.Unit = quantity.PSI // of a chart without pressures
	}
	p.takeChart(m, s, taken)
}

func (p *planner) takeChart(m *ModelPlan, s Setup, taken []csvRow) {
	slices.SortStableFunc(taken, func(a, b csvRow) int { return cmp.Compare(deref(a.Number("rider_kg")), deref(b.Number("rider_kg"))) })
	slices.SortStableFunc(s.Rows, func(a, b SetupRow) int { return cmp.Compare(a.RiderKG, b.RiderKG) })
	for field, why := range s.faults(m.overlaid(), m.Model, p.document(m, &s.From)) {
		var i int
		var column string
		if n, _ := fmt.Sscanf(field, "row%d.%s", &i, &column); n == 2 {
			taken[i].Wrong(strings.Replace(column, "kg", "rider_kg", 1), why)
			continue
		}
		if field == "sure" {
			why += " Put yes in this column of each row if the source says so."
		}
		for _, r := range taken {
			r.Wrong(strings.Replace(field, "rows", "rider_kg", 1), why)
		}
	}
	if len(taken) == 0 || slices.ContainsFunc(taken, func(r csvRow) bool { return p.bad[r.Line] }) {
		p.leaveOut(taken)
		return
	}
	m.brings(s.From)
	before := m.Sheet.Setup
	m.Setup, m.ChartLine, m.Chart = s, taken[0].Line, RowNew
	if len(before.Rows) > 0 {
		m.Chart = RowChanged
		s.From.By = before.From.By
		if len(setupDifferences(before, s)) == 0 {
			m.Chart = RowUnchanged
		}
	}
}

// leaveOut says of the other rows of a chart that cannot be one that they are
// not taken either.
func (p *planner) leaveOut(rows []csvRow) {
	for _, r := range rows {
		if !p.bad[r.Line] {
			r.Wrong("", "Another row of its chart is at fault, and the chart stands as a whole.")
		}
	}
}
