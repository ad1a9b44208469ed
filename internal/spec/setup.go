package spec

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

// Setup is the set-up chart of a spec sheet: what a rider of a mass begins with.
// Each column is full or empty. Without rows there is none.
type Setup struct {
	Rows []SetupRow // the light riders first
	Unit quantity.Unit
	// From is its one source: of the value only the source is set.
	From Value
	Sure bool // an unusual chart is meant
}

// SetupRow is one line. Counts are from closed, so that fewer damp more.
type SetupRow struct {
	RiderKG     float64
	PressurePa  *float64
	Rebound     *int
	Compression *int
	Spacers     *int
}

// Ends says that a chart has nothing for a rider, and where it ends.
type Ends struct {
	AtKG  float64
	Light bool // the rider is lighter than its first
}

func (e Ends) Error() string {
	if e.Light {
		return fmt.Sprintf("the chart begins at %g kg", e.AtKG)
	}
	return fmt.Sprintf("the chart ends at %g kg", e.AtKG)
}

// At reads the chart for a rider, along straight lines between its rows and never
// beyond them, which is an Ends. Counts are whole, a pressure is what a gauge in
// the chart's unit shows, and not above most, 0 for no limit.
func (s Setup) At(riderKG, most float64) (SetupRow, error) {
	if len(s.Rows) == 0 {
		return SetupRow{}, fault.NotFound("There is no set-up chart.")
	}
	first, last := s.Rows[0].RiderKG, s.Rows[len(s.Rows)-1].RiderKG
	switch {
	case riderKG < first:
		return SetupRow{}, Ends{AtKG: first, Light: true}
	case riderKG > last || math.IsNaN(riderKG):
		return SetupRow{}, Ends{AtKG: last}
	}
	row := SetupRow{RiderKG: riderKG}
	whole := func(of func(SetupRow) *int) *int {
		y, ok := s.between(riderKG, func(r SetupRow) *float64 { return asFloat(of(r)) })
		if !ok {
			return nil
		}
		n := int(math.Round(y))
		return &n
	}
	if pa, ok := s.between(riderKG, func(r SetupRow) *float64 { return r.PressurePa }); ok {
		pa = onGauge(pa, most, s.Unit)
		row.PressurePa = &pa
	}
	row.Rebound = whole(func(r SetupRow) *int { return r.Rebound })
	row.Compression = whole(func(r SetupRow) *int { return r.Compression })
	row.Spacers = whole(func(r SetupRow) *int { return r.Spacers })
	return row, nil
}

// between interpolates a column at a mass that lies in the chart.
func (s Setup) between(kg float64, of func(SetupRow) *float64) (float64, bool) {
	i, exact := slices.BinarySearchFunc(s.Rows, kg, func(r SetupRow, kg float64) int { return cmp.Compare(r.RiderKG, kg) })
	high := of(s.Rows[i])
	if exact || high == nil {
		return deref(high), high != nil
	}
	low := of(s.Rows[i-1])
	if low == nil {
		return 0, false
	}
	share := (kg - s.Rows[i-1].RiderKG) / (s.Rows[i].RiderKG - s.Rows[i-1].RiderKG)
	return *low + share*(*high-*low), true
}

func asFloat(n *int) *float64 {
	if n == nil {
		return nil
	}
	x := float64(*n)
	return &x
}

func deref(x *float64) float64 {
	if x == nil {
		return 0
	}
	return *x
}

// onGauge is the pressure as a gauge in the unit shows it, the mark below most
// where it would be above.
func onGauge(pa, most float64, unit quantity.Unit) float64 {
	shown := func(text string) float64 {
		v, err := quantity.Parse(quantity.KindPressure, text, unit)
		if err != nil {
			return pa // no unit of a pressure
		}
		return v.SI
	}
	rounded := shown(quantity.FormatNumber(quantity.KindPressure, pa, unit))
	if most > 0 && rounded > most*(1+1e-9) {
		return shown(quantity.FormatDown(quantity.KindPressure, most, unit))
	}
	return rounded
}

// A chart of two rows is a line; no booklet prints more than these.
const leastSetupRows, mostSetupRows = 2, 20

// faults names the fields "row0.kg", ".pressure", ".rebound", ".compression" and
// ".spacers" by index, "rows", "sure", and those of a source.
func (s Setup) faults(sheet Sheet, m Model, documents []Document) map[string]string {
	fields := map[string]string{}
	if len(s.Rows) < leastSetupRows || len(s.Rows) > mostSetupRows {
		fields["rows"] = fmt.Sprintf("Give the chart from %d to %d rows.", leastSetupRows, mostSetupRows)
	}
	for i, r := range s.Rows {
		at := fmt.Sprintf("row%d.", i)
		if !(r.RiderKG >= 10 && r.RiderKG <= 250) {
			fields[at+"kg"] = "Give the mass of the rider with kit, from 10 to 250 kg."
		}
		if i > 0 && r.RiderKG == s.Rows[i-1].RiderKG {
			fields[at+"kg"] = "This mass stands on the chart twice."
		}
	}
	s.columnFaults(m, fields)
	most, limited := sheet.Value("maximum pressure", "")
	for i, r := range s.Rows {
		if limited && r.PressurePa != nil && *r.PressurePa > most.NominalSI*(1+1e-9) {
			fields[fmt.Sprintf("row%d.pressure", i)] = "Never above the maximum on this sheet, " + quantity.FormatDown(quantity.KindPressure, most.NominalSI, s.Unit) + "."
		}
	}
	if question := s.question(); question != "" && !s.Sure && len(fields) == 0 { // rows that cannot be are mended first
		fields["sure"] = question
	}
	key, _ := Find("rider pressure")
	s.From.sourceFaults(key, documents, fields)
	return fields
}

// setupColumns are the columns of a chart by the field of each, and the key of
// the registry whose range it shares.
var setupColumns = []struct {
	Field, Key string
	of         func(SetupRow) *float64
}{
	{"pressure", "rider pressure", func(r SetupRow) *float64 { return r.PressurePa }},
	{"rebound", "rebound clicks", func(r SetupRow) *float64 { return asFloat(r.Rebound) }},
	{"compression", "compression clicks", func(r SetupRow) *float64 { return asFloat(r.Compression) }},
	{"spacers", "volume spacers", func(r SetupRow) *float64 { return asFloat(r.Spacers) }},
}

// Has reports whether the chart has that column, by its field.
func (s Setup) Has(field string) bool {
	for _, c := range setupColumns {
		if c.Field == field {
			return len(s.Rows) > 0 && c.of(s.Rows[0]) != nil
		}
	}
	return false
}

// columnFaults refuses a column with gaps, a chart without any, and what such a
// model has not.
func (s Setup) columnFaults(m Model, fields map[string]string) {
	any := false
	for _, c := range setupColumns {
		filled := 0
		for _, r := range s.Rows {
			if c.of(r) != nil {
				filled++
			}
		}
		if filled == 0 {
			continue
		}
		any = true
		k, _ := Find(c.Key)
		for i, r := range s.Rows {
			at := fmt.Sprintf("row%d.%s", i, c.Field)
			switch v := c.of(r); {
			case v == nil:
				fields[at] = "Fill the column in each row, or leave it out."
			case !finite(*v) || *v < 0:
				fields[at] = "Give a number that is not below zero."
			case len(k.Only) > 0 && k.Only[0] == "air" && m.Spring != "air":
				fields[at] = "This model has no air spring."
			}
		}
	}
	if !any && len(s.Rows) > 0 {
		fields["rows"] = "Fill at least one column beside the mass."
	}
}

// question asks back about an unusual figure, and about a chart that gives a
// heavier rider less pressure or less damping.
func (s Setup) question() string {
	var odd []string
	weight, _ := Find("rider weight")
	for i, r := range s.Rows {
		if q := weight.Question(r.RiderKG, quantity.Kilogram); q != "" {
			odd = append(odd, q)
		}
		for _, c := range setupColumns {
			k, _ := Find(c.Key)
			if k.Adjuster != "" {
				k.AskLow = 0 // a setting may be closed
			}
			v := c.of(r)
			if v == nil {
				continue
			}
			if q := k.Question(*v, s.unitOf(k)); q != "" {
				odd = append(odd, q)
			}
			if i > 0 {
				odd = append(odd, turns(c.Field, s.Rows[i-1].RiderKG, r.RiderKG, c.of(s.Rows[i-1]), v)...)
			}
		}
	}
	return strings.Join(slices.Compact(odd), " ")
}

// turns says where a column goes the wrong way from one row to the next.
func turns(field string, lighter, heavier float64, before, now *float64) []string {
	if before == nil {
		return nil
	}
	switch {
	case field == "pressure" && *now < *before:
		return []string{fmt.Sprintf("Really less pressure at %g kg than at %g kg?", heavier, lighter)}
	case (field == "rebound" || field == "compression") && *now > *before:
		return []string{fmt.Sprintf("Really less %s damping at %g kg than at %g kg? More from closed damps less.", field, heavier, lighter)}
	}
	return nil
}

func (s Setup) unitOf(k Key) quantity.Unit {
	if k.Kind == quantity.KindPressure {
		return s.Unit
	}
	return k.Unit
}
