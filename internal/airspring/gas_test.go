package airspring_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"damperdesk/internal/airspring"
)

// rows reads testdata/airspring; every row has a source.
func rows(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "airspring", file+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil || len(records) < 2 {
		t.Fatalf("%s.csv: %d lines, %v", file, len(records), err)
	}
	var all []map[string]string
	for i, record := range records[1:] {
		row := map[string]string{}
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

func of(t *testing.T, row map[string]string, name string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		t.Fatalf("%s of %v: %v", name, row, err)
	}
	return x
}

// near judges by the row's tolerance, relative with "rel " before it; go test -v
// prints how far off it is.
func near(t *testing.T, row map[string]string, got float64, err error, column string) {
	t.Helper()
	text, relative := strings.CutPrefix(row["tolerance"], "rel ")
	most, _ := strconv.ParseFloat(text, 64)
	want := of(t, row, column)
	off := math.Abs(got - want)
	if relative {
		off /= math.Abs(want)
	}
	t.Logf("off by %.2g of %s", off, row["tolerance"])
	if err != nil || !(off <= most) {
		t.Errorf("%v: %v, %v; want %v", row, got, err, want)
	}
}

func TestPressureAtAnotherPlace(t *testing.T) {
	for _, row := range rows(t, "moved") {
		got, err := airspring.Moved(of(t, row, "gauge"), airspring.Place{Temperature: of(t, row, "from_c"), Height: of(t, row, "from_m")},
			airspring.Place{Temperature: of(t, row, "to_c"), Height: of(t, row, "to_m")})
		near(t, row, got, err, "want")
	}
}

func TestAirAround(t *testing.T) {
	for _, row := range rows(t, "around") {
		got, err := airspring.Around(of(t, row, "height"))
		near(t, row, got, err, "want")
	}
}

func TestGasLaw(t *testing.T) {
	for _, row := range rows(t, "heated") {
		around := of(t, row, "around_kpa")
		got := airspring.Heated(of(t, row, "gauge_kpa")+around, of(t, row, "from_c"), of(t, row, "to_c"), of(t, row, "squeeze")) - around
		near(t, row, got, nil, "want_kpa")
	}
}

func TestPolytropic(t *testing.T) {
	for _, row := range rows(t, "polytropic") {
		p, from, to, n := of(t, row, "absolute_kpa"), of(t, row, "from"), of(t, row, "to"), of(t, row, "n")
		most := of(t, row, "tolerance")
		if got, want := airspring.Squeezed(p, from/to, n), of(t, row, "want_kpa"); math.Abs(got-want) > most*want {
			t.Errorf("%v: %v kPa", row, got)
		}
		if row["work_kj"] == "" {
			continue
		}
		if got, want := airspring.Work(p, from, to, n), of(t, row, "work_kj"); math.Abs(got-want) > most*math.Abs(want) {
			t.Errorf("%v: %v kJ", row, got)
		}
	}
}

func TestWhereNoPressureIsKnownItSaysWhy(t *testing.T) {
	nan := math.NaN()
	here := airspring.Place{Temperature: 20}
	for _, c := range []struct {
		gauge    float64
		from, to airspring.Place
		says     string
	}{
		{-1, here, here, "pressure -1"},
		{nan, here, here, "pressure NaN"},
		{1e5, airspring.Place{Temperature: -100}, here, "temperature -100"},
		{1e5, here, airspring.Place{Temperature: nan}, "temperature NaN"},
		{1e5, airspring.Place{Height: 12000}, here, "height 12000"},
		{1e5, here, airspring.Place{Height: nan}, "height NaN"},
	} {
		if _, err := airspring.Moved(c.gauge, c.from, c.to); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v from %+v to %+v: %v, want %q", c.gauge, c.from, c.to, err, c.says)
		}
	}
}
