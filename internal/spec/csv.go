package spec

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/db"
	"damperdesk/internal/quantity"
)

// Column is a column of the library as a CSV file. In names the rows it belongs
// to: "model", "value" and "chart".
type Column struct {
	Name, In, Words string
}

// Columns are those of the file in their order. A number is a plain decimal; the
// unit stands in the name of its column, or in the column "unit" of its row.
var Columns = []Column{
	{"row", "model value chart", "what the line is: model, value, or chart for a row of the set-up chart"},
	{"maker", "model value chart", "who makes the model"},
	{"model", "model value chart", "what it is called"},
	{"years", "model value chart", "which build of that name, such as 2021 to 2024; may be empty"},
	{"kind", "model", "fork, rear shock or seatpost"},
	{"travel_mm", "model", "travel in millimetres"},
	{"wheel_mm", "model", "bead seat diameter of the wheel in millimetres, as in ISO 5775: 622, 584, 559, 507 or 406"},
	{"stanchion_mm", "model", "diameter of the stanchions in millimetres"},
	{"spring", "model", "air, coil or none"},
	{"spring_leg", "model", "left or right, as the rider sees it; empty for not known"},
	{"damper", "model", "shared oil, sealed, cartridge or none"},
	{"damper_leg", "model", "left or right, as the rider sees it; empty for not known"},
	{"lowers", "model", "arch front or arch back; empty for not known"},
	{"crowns", "model", "one or two; empty for not known"},
	{"steerer", "model", "diameter in millimetres, of a tapered one at the stem and at the crown: 28.6-38.1, 28.6-45.7, 28.6, 38.1 or 25.4"},
	{"axle", "model", "diameter and width between the lowers in millimetres, such as 15x110"},
	{"adjusters", "model", "of rebound, compression, lockout and preload, apart by spaces"},
	{"positions", "model", "what the positions of the lockout are called, from closed, with commas between them; empty where they are only counted"},
	{"key", "value", "which value it is, by the names listed below"},
	{"place", "value", "places of the drawing, apart by spaces, such as foot-left foot-right; empty for the whole unit"},
	{"value", "value", "the value, in the unit of its row"},
	{"low", "value", "where its window begins, in the same unit; empty for no window"},
	{"high", "value", "where its window ends, in the same unit; empty for no window"},
	{"unit", "value chart", "unit of the value, or of the pressures of a chart; empty for a plain count"},
	{"fluid", "value", "which fluid it is, for an oil"},
	{"rider_kg", "chart", "mass of the rider with kit in kilograms"},
	{"pressure", "chart", "in the unit of its row; empty where the chart has none"},
	{"rebound", "chart", "whole count from closed; empty where the chart has none"},
	{"compression", "chart", "whole count from closed; empty where the chart has none"},
	{"spacers", "chart", "number of volume spacers; empty where the chart has none"},
	{"source", "value chart", "document, measured or judgement"},
	{"document", "value chart", "title of the maker’s document, for source document"},
	{"edition", "value chart", "its number or year"},
	{"page", "value chart", "page of that document"},
	{"words", "value chart", "how it was measured, or what a judgement compares with"},
	{"sure", "value chart", "yes where an unusual value is meant"},
}

// The kinds of rows.
const (
	rowModel = "model"
	rowValue = "value"
	rowChart = "chart"
)

// Export writes the library, or one model of it where modelID is not 0, as a CSV
// file: RFC 4180 in UTF-8 with a byte order mark. Of each model it has the sheet
// in force, or the draft where none is.
func Export(ctx context.Context, q db.Querier, modelID int64) ([]byte, error) {
	models, err := Models(ctx, q)
	if err != nil {
		return nil, err
	}
	if modelID != 0 {
		m, err := GetModel(ctx, q, modelID)
		if err != nil {
			return nil, err
		}
		models = []Model{m}
	}
	sheets, err := sheetsOf(ctx, q, modelID, "'current'")
	if err != nil {
		return nil, err
	}
	header := make([]string, len(Columns))
	for i, c := range Columns {
		header[i] = c.Name
	}
	records := [][]string{header}
	slices.SortStableFunc(models, func(a, b Model) int {
		return cmp.Or(cmp.Compare(a.Maker, b.Maker), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Years, b.Years))
	})
	for _, m := range models {
		for _, cells := range exported(m, sheets[m.ID]) {
			record := make([]string, len(Columns))
			for i, c := range Columns {
				record[i] = cells[c.Name]
			}
			records = append(records, record)
		}
	}
	return csvfile.Write(records)
}

// sheetsOf reads one sheet with its values and chart for each model, or for one:
// that in the state first, else a draft or the one in force.
func sheetsOf(ctx context.Context, q db.Querier, modelID int64, first string) (map[int64]Sheet, error) {
	rows, err := q.Query(ctx, `select distinct on (s.model_id) `+strings.TrimPrefix(selectSheet, "select ")+`
		where s.state in ('current', 'draft') and ($1 = 0 or s.model_id = $1) order by s.model_id, s.state = `+first+` desc`, modelID)
	list, err := db.All[Sheet](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read sheets: %w", err)
	}
	ids, sheets := []int64{}, map[int64]*Sheet{}
	for i := range list {
		ids, sheets[list[i].ID] = append(ids, list[i].ID), &list[i]
	}
	if err := readAll(ctx, q, ids, sheets); err != nil {
		return nil, fmt.Errorf("read sheets: %w", err)
	}
	byModel := map[int64]Sheet{}
	for _, s := range list {
		byModel[s.ModelID] = s
	}
	return byModel, nil
}

// readAll reads what stands on many sheets, in one query for each table.
func readAll(ctx context.Context, q db.Querier, ids []int64, sheets map[int64]*Sheet) error {
	type value struct {
		SheetID int64
		Value
	}
	rows, err := q.Query(ctx, "select v.sheet_id, "+valueColumns+" where v.sheet_id = any ($1) order by v.id", ids)
	values, err := db.All[value](rows, err)
	if err != nil {
		return err
	}
	for _, v := range values {
		sheets[v.SheetID].Values = append(sheets[v.SheetID].Values, v.Value)
	}
	rows, err = q.Query(ctx, "select c.sheet_id, "+setupColumnsSQL+" where c.sheet_id = any ($1)", ids)
	charts, err := db.All[value](rows, err)
	if err != nil {
		return err
	}
	for _, c := range charts {
		sheets[c.SheetID].Setup.From, sheets[c.SheetID].Setup.Unit = c.Value, c.ShownUnit
	}
	type setupRow struct {
		SheetID int64
		SetupRow
	}
	rows, err = q.Query(ctx, "select sheet_id, rider_kg, pressure_pa, rebound, compression, spacers from setup_row where sheet_id = any ($1) order by rider_kg", ids)
	lines, err := db.All[setupRow](rows, err)
	for _, l := range lines {
		sheets[l.SheetID].Setup.Rows = append(sheets[l.SheetID].Setup.Rows, l.SetupRow)
	}
	return err
}

// exported are the rows of one model by the names of their columns.
func exported(m Model, sheet Sheet) []map[string]string {
	row := func(kind string, cells map[string]string) map[string]string {
		cells["row"], cells["maker"], cells["model"], cells["years"] = kind, m.Maker, m.Name, m.Years
		return cells
	}
	list := []map[string]string{row(rowModel, m.cells())}
	values := slices.Clone(sheet.Values)
	slices.SortStableFunc(values, func(a, b Value) int {
		return cmp.Or(cmp.Compare(byID[a.Key], byID[b.Key]), cmp.Compare(a.Place, b.Place))
	})
	for _, v := range values {
		list = append(list, row(rowValue, v.cells(m)))
	}
	sure := sheet.Setup.question() != ""
	for _, r := range sheet.Setup.Rows {
		list = append(list, row(rowChart, sheet.Setup.cells(r, sure)))
	}
	return list
}

func (m Model) cells() map[string]string {
	adjusters := slices.Clone(m.Adjusters)
	slices.SortFunc(adjusters, func(a, b string) int {
		return cmp.Compare(slices.Index(ModelAdjusters, a), slices.Index(ModelAdjusters, b))
	})
	return map[string]string{
		"kind": m.Kind, "travel_mm": whole(m.TravelMM), "wheel_mm": whole(m.WheelMM), "stanchion_mm": decimals(m.StanchionMM),
		"spring": m.Spring, "spring_leg": m.SpringLeg, "damper": m.Damper, "damper_leg": m.DamperLeg, "lowers": m.Lowers,
		"crowns": m.Crowns, "steerer": m.Steerer, "axle": m.Axle, "adjusters": strings.Join(adjusters, " "),
		"positions": strings.Join(m.Positions, ", "),
	}
}

func (v Value) cells(m Model) map[string]string {
	k, _ := Find(v.Key)
	number := func(si float64) string {
		x := k.inUnit(si, v.ShownUnit)
		return decimals(&x)
	}
	cells := map[string]string{"key": v.Key, "place": v.Place, "value": number(v.NominalSI), "unit": string(v.ShownUnit), "fluid": v.Fluid}
	if v.MinusSI != 0 || v.PlusSI != 0 {
		cells["low"], cells["high"] = number(v.NominalSI-v.MinusSI), number(v.NominalSI+v.PlusSI)
	}
	if v.question(k.On(m, v.Place)) != "" {
		cells["sure"] = "yes"
	}
	v.sourceCells(cells)
	return cells
}

func (v Value) sourceCells(cells map[string]string) {
	cells["source"] = v.SourceKind
	if v.SourceKind == FromDocument {
		cells["document"], cells["edition"], cells["page"] = v.DocumentTitle, v.DocumentEdition, v.Page
	} else {
		cells["words"] = v.SourceWords
	}
}

func (s Setup) cells(r SetupRow, sure bool) map[string]string {
	cells := map[string]string{"rider_kg": decimals(&r.RiderKG), "unit": string(s.Unit),
		"rebound": whole(r.Rebound), "compression": whole(r.Compression), "spacers": whole(r.Spacers)}
	if r.PressurePa != nil {
		x := quantity.Convert(quantity.KindPressure, *r.PressurePa, s.Unit)
		cells["pressure"] = decimals(&x)
	}
	if sure {
		cells["sure"] = "yes"
	}
	s.From.sourceCells(cells)
	return cells
}

// inUnit is a value of the key as a number in the unit; fromUnit is its inverse.
func (k Key) inUnit(si float64, unit quantity.Unit) float64 {
	if p, plain := plainUnits[k.Kind]; plain {
		return si * p.per1
	}
	return quantity.Convert(k.Kind, si, unit)
}

func (k Key) fromUnit(number float64, unit quantity.Unit) (float64, error) {
	if p, plain := plainUnits[k.Kind]; plain {
		return number / p.per1, nil
	}
	return quantity.FromUnit(k.Kind, number, unit)
}

func whole(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

// decimals prints twelve digits, which the noise of a conversion does not reach,
// so that a number read back prints the same.
func decimals(x *float64) string {
	if x == nil {
		return ""
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(*x, 'e', 11, 64), 64)
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
