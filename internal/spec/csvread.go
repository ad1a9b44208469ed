package spec

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
)

// Refusal is a row of a file that is not taken, and why; Line is its line in the
// file and Column the name of the column at fault, empty for the whole row.
type Refusal struct {
	Line   int
	Column string
	Why    string
}

// csvRow is a row of the file, read by the names of its columns.
type csvRow struct {
	line    int
	cells   map[string]string
	decimal string // what the file separates decimals with
	refuse  func(line int, column, why string)
}

func (r csvRow) text(column string) string { return strings.TrimSpace(r.cells[column]) }

func (r csvRow) wrong(column, why string) { r.refuse(r.line, column, why) }

// number reads a plain decimal; nil for an empty cell, and for one it refuses.
func (r csvRow) number(column string) *float64 {
	t := r.text(column)
	if t == "" {
		return nil
	}
	if r.decimal == "," {
		t = strings.Replace(t, ",", ".", 1)
	}
	x, err := quantity.ParseNumber(t)
	if err != nil {
		r.wrong(column, err.Error())
		return nil
	}
	return &x
}

func (r csvRow) count(column string) *int {
	x := r.number(column)
	if x == nil {
		return nil
	}
	n, err := quantity.ParseCount(strconv.FormatFloat(*x, 'f', -1, 64))
	if err != nil {
		r.wrong(column, err.Error())
		return nil
	}
	return &n
}

// source reads where a value or chart comes from; what belongs to another kind of
// source is refused rather than lost.
func (r csvRow) source() Value {
	v := Value{SourceKind: r.text("source")}
	switch v.SourceKind {
	case FromDocument:
		v.DocumentTitle, v.DocumentEdition, v.Page = r.text("document"), r.text("edition"), r.text("page")
		if err := documentFault(v.DocumentTitle, v.DocumentEdition); err != nil {
			r.wrong("document", "Name the document, in at most 200 characters, and its edition likewise.")
		}
		r.onlyFor("words", "a measurement or a judgement")
	default:
		v.SourceWords = r.text("words")
		for _, column := range []string{"document", "edition", "page"} {
			r.onlyFor(column, "a value from a document")
		}
	}
	return v
}

func (r csvRow) onlyFor(column, what string) {
	if r.text(column) != "" {
		r.wrong(column, "This goes with "+what+" only.")
	}
}

// readCSV reads the rows of a file. What makes the file as a whole unreadable is
// a fault.Invalid on "file"; a row that is no row is refused alone.
func readCSV(data []byte, refuse func(line int, column, why string)) ([]csvRow, error) {
	data = bytes.TrimPrefix(data, []byte(byteOrderMark))
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return nil, fault.Field("file", "The file is empty.")
	case !utf8.Valid(data) || bytes.IndexByte(data, 0) >= 0: // UTF-16 among them
		return nil, fault.Field("file", "The file is not text in UTF-8: save it as CSV in UTF-8.")
	}
	comma, decimal := separators(data)
	in := csv.NewReader(bytes.NewReader(data))
	in.Comma, in.FieldsPerRecord = comma, -1
	header, err := in.Read()
	if err != nil {
		return nil, fault.Field("file", "The first line does not name the columns.")
	}
	if err := headerFault(header); err != nil {
		return nil, err
	}
	var rows []csvRow
	for {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			refuse(bad.StartLine, "", "The row cannot be read: look at its quotation marks.")
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("read csv: %w", err)
		}
		line, _ := in.FieldPos(0)
		if row, ok := rowOf(header, record); ok {
			rows = append(rows, csvRow{line: line, cells: row, decimal: decimal, refuse: refuse})
		} else if len(record) > 1 || strings.TrimSpace(record[0]) != "" {
			refuse(line, "", fmt.Sprintf("The row has %d cells, the first line names %d columns.", len(record), len(header)))
		}
	}
}

// separators part the columns and the decimals, by the first line.
func separators(data []byte) (comma rune, decimal string) {
	head, _, _ := bytes.Cut(data, []byte("\n"))
	if bytes.Count(head, []byte(";")) > bytes.Count(head, []byte(",")) {
		return ';', ","
	}
	return ',', "."
}

// rowOf are the cells by column; a spreadsheet may leave empty ones out at the
// end. False for what is no row.
func rowOf(header, record []string) (map[string]string, bool) {
	if len(record) > len(header) || len(record) < 4 {
		return nil, false
	}
	cells, filled := map[string]string{}, false
	for i, cell := range record {
		cells[strings.TrimSpace(header[i])] = bare(cell)
		filled = filled || strings.TrimSpace(cell) != ""
	}
	return cells, filled
}

// headerFault refuses a file whose columns are not those of the format. Columns
// may stand in any order, and those of rows that the file has none of be left out.
func headerFault(header []string) error {
	seen := map[string]bool{}
	for _, name := range header {
		name = strings.TrimSpace(name)
		if !slices.ContainsFunc(Columns, func(c Column) bool { return c.Name == name }) {
			return fault.Field("file", fmt.Sprintf("There is no column “%s”: the first line names the columns as they stand below.", name))
		}
		if seen[name] {
			return fault.Field("file", fmt.Sprintf("The column “%s” stands in the file twice.", name))
		}
		seen[name] = true
	}
	for _, name := range []string{"row", "maker", "model", "years"} {
		if !seen[name] {
			return fault.Field("file", fmt.Sprintf("The column “%s” is missing.", name))
		}
	}
	return nil
}

// keep takes what the file has no column for from the cells of what is there.
func (r csvRow) keep(there map[string]string) {
	for name, cell := range there {
		if _, has := r.cells[name]; !has {
			r.cells[name] = cell
		}
	}
}

// model reads a row of that kind.
func (r csvRow) model() Model {
	m := Model{
		Kind: r.text("kind"), Maker: r.text("maker"), Name: r.text("model"), Years: r.text("years"),
		TravelMM: r.count("travel_mm"), Spring: r.text("spring"), Damper: r.text("damper"),
		SpringLeg: r.text("spring_leg"), DamperLeg: r.text("damper_leg"), Lowers: r.text("lowers"), Adjusters: strings.Fields(r.text("adjusters")), Positions: tidied(strings.Split(r.text("positions"), ",")),
		Build: Build{WheelMM: r.count("wheel_mm"), StanchionMM: r.number("stanchion_mm"), Crowns: r.text("crowns"), Steerer: r.text("steerer"), Axle: r.text("axle")},
	}
	var invalid *fault.Invalid
	if errors.As(m.valid(), &invalid) {
		for field, why := range invalid.Fields {
			r.wrong(modelColumn(field), why)
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
	v.Key, v.Place, v.Fluid, v.ShownUnit, v.Sure = r.text("key"), strings.Join(strings.Fields(r.text("place")), " "), r.text("fluid"), quantity.Unit(r.text("unit")), r.text("sure") == "yes"
	k, known := Find(v.Key)
	nominal := r.number("value")
	if !known || !k.HasUnit(v.ShownUnit) { // said with the faults of the value
		return v
	}
	if nominal == nil {
		if r.text("value") == "" {
			r.wrong("value", "Give the value.")
		}
		return v
	}
	si := func(x float64) float64 {
		si, err := k.fromUnit(x, v.ShownUnit)
		if err != nil {
			r.wrong("value", err.Error())
		}
		return si
	}
	v.NominalSI = si(*nominal)
	low, high := r.number("low"), r.number("high")
	switch {
	case (low == nil) != (high == nil):
		r.wrong("low", "Give both ends of the window, or neither.")
	case low == nil:
	case k.NotOver:
		r.wrong("low", "This is a limit: leave low and high empty.")
	case *low > *nominal || *high < *nominal:
		r.wrong("low", "The value has to lie in its window.")
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
	row := SetupRow{Rebound: r.count("rebound"), Compression: r.count("compression"), Spacers: r.count("spacers")}
	if kg := r.number("rider_kg"); kg != nil {
		row.RiderKG = *kg
	}
	if pressure := r.number("pressure"); pressure != nil {
		pa, err := quantity.FromUnit(quantity.KindPressure, *pressure, unit)
		if err != nil {
			r.wrong("pressure", err.Error())
		}
		row.PressurePa = &pa
	}
	return row
}
