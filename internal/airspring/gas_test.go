package airspring_test

import (
	"math"
	"strings"
	"testing"

	"damperdesk/internal/airspring"
	"damperdesk/internal/vector"
)

func TestPressureAtAnotherPlace(t *testing.T) {
	for _, row := range vector.Rows(t, "airspring", "moved") {
		got, err := airspring.Moved(row.Float(t, "gauge"), airspring.Place{Temperature: row.Float(t, "from_c"), Height: row.Float(t, "from_m")},
			airspring.Place{Temperature: row.Float(t, "to_c"), Height: row.Float(t, "to_m")})
		row.Near(t, got, err, "want")
	}
}

func TestAirAround(t *testing.T) {
	for _, row := range vector.Rows(t, "airspring", "around") {
		got, err := airspring.Around(row.Float(t, "height"))
		row.Near(t, got, err, "want")
	}
}

func TestGasLaw(t *testing.T) {
	for _, row := range vector.Rows(t, "airspring", "heated") {
		around := row.Float(t, "around_kpa")
		got := airspring.Heated(row.Float(t, "gauge_kpa")+around, row.Float(t, "from_c"), row.Float(t, "to_c"), row.Float(t, "squeeze")) - around
		row.Near(t, got, nil, "want_kpa")
	}
}

func TestPolytropic(t *testing.T) {
	for _, row := range vector.Rows(t, "airspring", "polytropic") {
		p, from, to, n := row.Float(t, "absolute_kpa"), row.Float(t, "from"), row.Float(t, "to"), row.Float(t, "n")
		row.Near(t, airspring.Squeezed(p, from/to, n), nil, "want_kpa")
		if row["work_kj"] != "" {
			row.Near(t, airspring.Work(p, from, to, n), nil, "work_kj")
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
