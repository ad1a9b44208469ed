package templates

import (
	"errors"
	"strconv"

	"damperdesk/internal/bench"
	"damperdesk/internal/chart"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// charted says what the set-up chart gives the rider for a step; empty where it
// says nothing of it.
func (p StepPage) charted(s *bench.Step) string {
	c, ok := p.Charted[s.Key]
	if !ok {
		return ""
	}
	return chartedWords(p.Prefs, c)
}

// beside names what the chart gives next to the unit of a field where several
// lines share the page, of which the rest is folded.
func (p StepPage) beside(f Field, s *bench.Step) Field {
	f.Unit = listed(f.Unit, p.chartedShort(s))
	return f
}

func (p StepPage) chartedShort(s *bench.Step) string {
	c, ok := p.Charted[s.Key]
	switch {
	case !ok || !p.many():
		return ""
	case c.Ends != nil:
		return "chart: nothing for " + p.Prefs.Mass(c.RiderKG)
	case c.PressurePa != nil:
		return "chart: " + p.Prefs.Pressure(*c.PressurePa)
	case c.Count != nil:
		return "chart: " + strconv.Itoa(*c.Count)
	}
	return ""
}

func chartedWords(prefs Prefs, c bench.Charted) string {
	rider := prefs.Mass(c.RiderKG)
	switch {
	case c.Ends != nil:
		return "Nothing for " + rider + ": " + endsWords(prefs, *c.Ends) + "."
	case c.PressurePa != nil:
		return "By the chart for " + rider + ": " + prefs.Pressure(*c.PressurePa) + ". Source: " + c.Source + "."
	case c.Count != nil:
		return "By the chart for " + rider + ": " + strconv.Itoa(*c.Count) + " " + c.Form + " from closed. Source: " + c.Source + "."
	}
	return ""
}

// endsWords say where a chart has nothing more.
func endsWords(prefs Prefs, e spec.Ends) string {
	if e.Light {
		return "the chart begins at " + prefs.Mass(e.AtKG)
	}
	return "the chart ends at " + prefs.Mass(e.AtKG)
}

// SetupFormPage asks for the set-up chart of a draft.
type SetupFormPage struct {
	ValuePage
}

// setupBlank is how many empty rows a form has at least.
const setupBlank, setupLeast = 2, 8

// rows are those of the draft in the units of the shop, and some empty ones.
func (p SetupFormPage) rows() []spec.SetupRow {
	rows := p.Draft.Setup.Rows
	return append(rows[:len(rows):len(rows)], make([]spec.SetupRow, max(setupBlank, setupLeast-len(rows)))...)
}

func (p SetupFormPage) cell(i int, name string) Field {
	r := p.rows()[i]
	value := ""
	switch name {
	case "kg":
		if r.RiderKG > 0 {
			value = exact(quantity.Convert(quantity.KindMass, r.RiderKG, p.Prefs.Unit(quantity.KindMass)))
		}
	case "pressure":
		if r.PressurePa != nil {
			value = exact(quantity.Convert(quantity.KindPressure, *r.PressurePa, p.Prefs.Unit(quantity.KindPressure)))
		}
	case "rebound":
		value = numberField(r.Rebound)
	case "compression":
		value = numberField(r.Compression)
	case "spacers":
		value = numberField(r.Spacers)
	}
	return Field{Name: "row" + strconv.Itoa(i) + "." + name, Value: value}
}

// exact prints a number so that it comes back as it was, but for the noise of a
// conversion.
func exact(x float64) string { return strconv.FormatFloat(x, 'g', 9, 64) }

// setupHead names a column of the chart: what stands in it and its unit.
type setupHead struct{ field, words string }

func setupHeads(prefs Prefs) []setupHead {
	return []setupHead{
		{"kg", "Rider in kit, " + string(prefs.Unit(quantity.KindMass))}, {"pressure", "Air, " + string(prefs.Unit(quantity.KindPressure))},
		{"rebound", "Rebound, from closed"}, {"compression", "Compression, from closed"}, {"spacers", "Volume spacers"},
	}
}

// setupCells are a row of the chart without its mass, by the columns it has.
func setupCells(prefs Prefs, s spec.Setup, r spec.SetupRow) []string {
	var cells []string
	if s.Has("pressure") {
		cells = append(cells, prefs.Pressure(*r.PressurePa))
	}
	for _, c := range []struct {
		field string
		n     *int
	}{{"rebound", r.Rebound}, {"compression", r.Compression}, {"spacers", r.Spacers}} {
		if s.Has(c.field) {
			cells = append(cells, numberField(c.n))
		}
	}
	return cells
}

// setupPlot draws the pressure over the mass of the rider; false without one.
func (b Base) setupPlot(s spec.Setup) (chart.Drawing, bool) {
	if !s.Has("pressure") {
		return chart.Drawing{}, false
	}
	mass, pressure := b.Prefs.Unit(quantity.KindMass), b.Prefs.Unit(quantity.KindPressure)
	var values []chart.Value
	low, high := 0.0, 0.0
	for i, r := range s.Rows {
		v := chart.Value{X: quantity.Convert(quantity.KindMass, r.RiderKG, mass), Y: quantity.Convert(quantity.KindPressure, *r.PressurePa, pressure)}
		values = append(values, v)
		if high = max(high, v.Y); i == 0 || v.Y < low {
			low = v.Y
		}
	}
	first, last := s.Rows[0], s.Rows[len(s.Rows)-1]
	return chart.Curves("setup", "Pressure over the weight of the rider",
		"From "+b.Prefs.Pressure(*first.PressurePa)+" at "+b.Prefs.Mass(first.RiderKG)+" to "+b.Prefs.Pressure(*last.PressurePa)+" at "+b.Prefs.Mass(last.RiderKG)+", straight between the rows.",
		chart.Axis{Unit: string(mass), Low: values[0].X, High: values[len(values)-1].X, Step: 1},
		chart.Axis{Unit: string(pressure), Low: low, High: high, Step: 0.1},
		[]chart.Curve{{Kind: chart.Trace, Values: values}}, values), true
}

// setupLineWords are a row of a chart in one line: "62 psi, rebound 10".
func setupLineWords(l spec.SetupLine) string {
	var words []string
	if l.PressurePa != nil {
		words = append(words, quantity.Format(quantity.KindPressure, *l.PressurePa, l.Unit))
	}
	for _, c := range []struct {
		name string
		n    *int
	}{{"rebound", l.Rebound}, {"compression", l.Compression}, {"spacers", l.Spacers}} {
		if c.n != nil {
			words = append(words, c.name+" "+strconv.Itoa(*c.n))
		}
	}
	return listed(words...)
}

// differenceWhere says where a difference is: a place, or a rider.
func differenceWhere(d spec.Difference) string {
	if d.Rider > 0 {
		return "rider of " + exact(d.Rider) + "\u00a0kg"
	}
	return placeWords(d.Place)
}

// differenceState is what happened to a value from one revision to the next.
func differenceState(d spec.Difference) (Shape, string) {
	switch {
	case d.Came():
		return Disc, "added"
	case d.Went():
		return Arrow, "gone"
	}
	return Triangle, "changed"
}

// sideOf are the words and the source of one side of a difference, empty where
// it has nothing.
func sideOf(v *spec.Value, l *spec.SetupLine) (words, source string) {
	switch {
	case v != nil:
		return valueWords(*v), v.Source()
	case l != nil:
		return setupLineWords(*l), l.From.Source()
	}
	return "", ""
}

// ChartedLine reads the chart for a rider of a calculator.
func ChartedLine(prefs Prefs, s spec.Setup, riderKG, most float64) (line AnswerLine, ok bool) {
	s.Unit = prefs.Unit(quantity.KindPressure)
	row, err := s.At(riderKG, most)
	var ends spec.Ends
	switch {
	case !s.Has("pressure"):
		return AnswerLine{}, false
	case errors.As(err, &ends):
		return AnswerLine{Term: "By the set-up chart", Words: "nothing: " + endsWords(prefs, ends)}, true
	}
	return AnswerLine{Term: "By the set-up chart", Words: prefs.Pressure(*row.PressurePa), Note: s.From.Source()}, true
}
