// Package csvfile writes and reads tables as CSV files that a spreadsheet opens:
// RFC 4180 in UTF-8 with a byte order mark. What is read comes by the names of its
// columns, with the line of each row and a sentence for each row that is refused.
package csvfile

import (
	"bytes"
	"encoding/csv"
	"strings"
	"unicode/utf8"
)

// Mark is the byte order mark that a file begins with.
const Mark = "\uFEFF"

// Write makes a file of records, the first of which names the columns.
func Write(records [][]string) ([]byte, error) {
	var out bytes.Buffer
	out.WriteString(Mark)
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	for _, cells := range records {
		record := make([]string, len(cells))
		for i, cell := range cells {
			record[i] = guarded(cell)
		}
		w.Write(record) // into memory: Flush tells of no error
	}
	w.Flush()
	return out.Bytes(), w.Error()
}

// startsFormula are the first letters by which a spreadsheet takes a text for a
// formula, and the mark that is put before it.
const startsFormula = "=+-@\t\r\n＝＋－＠'"

// guarded puts a mark before what a spreadsheet would reckon; bare takes it off
// again. Line ends become those that a CSV reader gives back.
func guarded(cell string) string {
	cell = strings.ReplaceAll(strings.ReplaceAll(cell, "\r\n", "\n"), "\r", "\n")
	if first, size := utf8.DecodeRuneInString(cell); size > 0 && strings.ContainsRune(startsFormula, first) {
		return "'" + cell
	}
	return cell
}

func bare(cell string) string { return strings.TrimPrefix(cell, "'") }
