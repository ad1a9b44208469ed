package csvfile

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

// Format is which columns a file may have and which it cannot do without.
type Format struct {
	Columns []string
	Needed  []string
}

// Row is a row of a file, read by the names of its columns.
type Row struct {
	Line   int
	Cells  map[string]string
	Refuse func(line int, column, why string)

	decimal string // what the file separates decimals with
}

// Text is a cell without the spaces around it.
func (r Row) Text(column string) string { return strings.TrimSpace(r.Cells[column]) }

// Wrong refuses the row for a column.
func (r Row) Wrong(column, why string) { r.Refuse(r.Line, column, why) }

// Keep takes what the file has no column for from the cells of what is there.
func (r Row) Keep(there map[string]string) {
	for name, cell := range there {
		if _, has := r.Cells[name]; !has {
			r.Cells[name] = cell
		}
	}
}

// Decimal is a cell with a point where the file begins its decimals otherwise.
func (r Row) Decimal(column string) string {
	t := r.Text(column)
	if r.decimal == "," {
		t = strings.Replace(t, ",", ".", 1)
	}
	return t
}

// Number reads a plain decimal; nil for an empty cell, and for one it refuses.
func (r Row) Number(column string) *float64 {
	t := r.Decimal(column)
	if t == "" {
		return nil
	}
	x, err := quantity.ParseNumber(t)
	if err != nil {
		r.Wrong(column, err.Error())
		return nil
	}
	return &x
}

// Count reads a whole number from 0; nil as for Number.
func (r Row) Count(column string) *int {
	x := r.Number(column)
	if x == nil {
		return nil
	}
	n, err := quantity.ParseCount(strconv.FormatFloat(*x, 'f', -1, 64))
	if err != nil {
		r.Wrong(column, err.Error())
		return nil
	}
	return &n
}

// Read reads the rows of a file. What makes the file as a whole unreadable is a
// fault.Invalid on "file"; a row that is no row is refused alone.
func Read(data []byte, format Format, refuse func(line int, column, why string)) ([]Row, error) {
	data = bytes.TrimPrefix(data, []byte(Mark))
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
	if err := format.headerFault(header); err != nil {
		return nil, err
	}
	var rows []Row
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
		if cells, ok := rowOf(header, record, len(format.Needed)); ok {
			rows = append(rows, Row{Line: line, Cells: cells, decimal: decimal, Refuse: refuse})
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
func rowOf(header, record []string, least int) (map[string]string, bool) {
	if len(record) > len(header) || len(record) < least {
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
// may stand in any order, and those that are not needed be left out.
func (f Format) headerFault(header []string) error {
	seen := map[string]bool{}
	for _, name := range header {
		name = strings.TrimSpace(name)
		if !slices.Contains(f.Columns, name) {
			return fault.Field("file", fmt.Sprintf("There is no column “%s”: the first line names the columns as they stand below.", name))
		}
		if seen[name] {
			return fault.Field("file", fmt.Sprintf("The column “%s” stands in the file twice.", name))
		}
		seen[name] = true
	}
	for _, name := range f.Needed {
		if !seen[name] {
			return fault.Field("file", fmt.Sprintf("The column “%s” is missing.", name))
		}
	}
	return nil
}
