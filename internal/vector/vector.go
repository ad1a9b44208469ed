// Package vector reads the files under testdata that the kernels are checked
// against. It is for tests alone.
package vector

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// Row is a row by the names of its columns.
type Row map[string]string

// Rows reads testdata/<kernel>/<file>.csv, for a test of a package that lies in
// internal. Each row has to name its source.
func Rows(t testing.TB, kernel, file string) []Row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", kernel, file+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil || len(records) < 2 {
		t.Fatalf("%s.csv has %d lines, %v", file, len(records), err)
	}
	var all []Row
	for i, record := range records[1:] {
		row := Row{}
		for at, cell := range record {
			row[records[0][at]] = cell
		}
		if row["source"] == "" {
			t.Errorf("%s.csv line %d has no source", file, i+2)
		}
		all = append(all, row)
	}
	return all
}

// Float is the number in a column.
func (r Row) Float(t testing.TB, column string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("%s of %v: %v", column, r, err)
	}
	return x
}

// Near holds a result against the number in a column, by the column
// "tolerance": "1e-9", or "rel 1e-9" of the number. go test -v prints how far
// off it is.
func (r Row) Near(t testing.TB, got float64, err error, column string) {
	t.Helper()
	text, relative := strings.CutPrefix(r["tolerance"], "rel ")
	most, bad := strconv.ParseFloat(text, 64)
	want := r.Float(t, column)
	off := math.Abs(got - want)
	if relative {
		off /= math.Abs(want)
	}
	t.Logf("%s off by %.2g of %s", column, off, r["tolerance"])
	if err != nil || bad != nil || !(off <= most) {
		t.Errorf("%v: %s is %v, %v, %v", r, column, got, err, bad)
	}
}
