package spec

import (
	"errors"
	"strings"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

// Refusal is a row of the library’s file that is not taken, and why.
type Refusal = csvfile.Refusal

// csvRow is a row of the library's file.
type csvRow struct{ csvfile.Row }

// readCSV reads the rows of a file. What makes the file as a whole unreadable is
// a fault.Invalid on "file"; a row that is no row is refused alone.
func readCSV(data []byte, refuse func(line int, column, why string)) ([]csvRow, error) {
	format := csvfile.Format{Needed: []string{"row", "maker", "model", "years"}}
	for _, c := range Columns {
		format.Columns = append(format.Columns, c.Name)
	}
	read, err := csvfile.Read(data, format, refuse)
	rows := make([]csvRow, len(read))
	for i, r := range read {
		rows[i] = csvRow{r}
	}
	return rows, err
}

// source reads where a value or chart comes from; what belongs to another kind of
// source is refused rather than lost.
func (r csvRow) source() Value {
	v := Value{SourceKind: r.Text("source")}
	switch v.SourceKind {
	case FromDocument:
		v.DocumentTitle, v.DocumentEdition, v.Page = r.Text("document"), r.Text("edition"), r.Text("page")
		if err := documentFault(v.DocumentTitle, v.DocumentEdition); err != nil {
			r.Wrong("document", "Name the document, in at most 200 characters, and its edition likewise.")
		}
		r.onlyFor("words", "a measurement or a judgement")
	default:
		v.SourceWords = r.Text("words")
		for _, column := range []string{"document", "edition", "page"} {
			r.onlyFor(column, "a value from a document")
		}
	}
	return v
}

func (r csvRow) onlyFor(column, what string) {
	if r.Text(column) != "" {
		r.Wrong(column, "This goes with "+what+" only.")
	}
}

// model reads a row of that kind.
func (r csvRow) model() Model {
	m := Model{
		Kind: r.Text("kind"), Maker: r.Text("maker"), Name: r.Text("model"), Years: r.Text("years"),
		TravelMM: r.Count("travel_mm"), Spring: r.Text("spring"), Damper: r.Text("damper"),
		SpringLeg: r.Text("spring_leg"), DamperLeg: r.Text("damper_leg"), Lowers: r.Text("lowers"), Adjusters: strings.Fields(r.Text("adjusters")), Positions: tidied(strings.Split(r.Text("positions"), ",")),
		Build: Build{WheelMM: r.Count("wheel_mm"), StanchionMM: r.Number("stanchion_mm"), Crowns: r.Text("crowns"), Steerer: r.Text("steerer"), Axle: r.Text("axle")},
	}
	var invalid *fault.Invalid
	if errors.As(m.valid(), &invalid) {
		for field, why := range invalid.Fields {
			r.Wrong(modelColumn(field), why)
		}
	}
	return m
}

// modelColumn is the column of a field of a model's form.
func modelColumn(field string) string {
	switch field {
	case "name":
		return "model"
	case "travel", "wheel", "stanchion":
		return field + "_mm"
	}
	return field
}

// value reads a row of that kind but for its document.
func (r csvRow) value() Value {
	v := r.source()
	v.Key, v.Place, v.Fluid, v.ShownUnit, v.Sure = r.Text("key"), strings.Join(strings.Fields(r.Text("place")), " "), r.Text("fluid"), quantity.Unit(r.Text("unit")), r.Text("sure") == "yes"
	k, known := Find(v.Key)
	nominal := r.Number("value")
	if !known || !k.HasUnit(v.ShownUnit) { // said with the faults of the value
		return v
	}
	if nominal == nil {
		if r.Text("value") == "" {
			r.Wrong("value", "Give the value.")
		}
		return v
	}
	si := func(x float64) float64 {
		si, err := k.fromUnit(x, v.ShownUnit)
		if err != nil {
			r.Wrong("value", err.Error())
		}
		return si
	}
	v.NominalSI = si(*nominal)
	low, high := r.Number("low"), r.Number("high")
	switch {
	case (low == nil) != (high == nil):
		r.Wrong("low", "Give both ends of the window, or neither.")
	case low == nil:
	case k.NotOver:
		r.Wrong("low", "This is a limit: leave low and high empty.")
	case *low > *nominal || *high < *nominal:
		r.Wrong("low", "The value has to lie in its window.")
	default:
		v.MinusSI, v.PlusSI = max(0, v.NominalSI-si(*low)), max(0, si(*high)-v.NominalSI)
	}
	return v
}

// valueColumn is the column of a field of a value's form.
func valueColumn(field string) string {
	switch field {
	case "nominal":
		return "value"
	case "window":
		return "low"
	}
	return field
}

// setupRow reads a row of a set-up chart.
func (r csvRow) setupRow(unit quantity.Unit) SetupRow {
	row := SetupRow{Rebound: r.Count("rebound"), Compression: r.Count("compression"), Spacers: r.Count("spacers")}
	if kg := r.Number("rider_kg"); kg != nil {
		row.RiderKG = *kg
	}
	if pressure := r.Number("pressure"); pressure != nil {
		pa, err := quantity.FromUnit(quantity.KindPressure, *pressure, unit)
		if err != nil {
			r.Wrong("pressure", err.Error())
		}
		row.PressurePa = &pa
	}
	return row
}
