package stat_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

func checkIntermittent(t *testing.T, row vector.Row) {
	y, w := floats(t, row["y"]), append(floats(t, row["weights"]), 0)
	var start stat.Demands
	if row["start"] != "" {
		s := floats(t, row["start"])
		start = stat.Demands{Size: s[0], Chance: s[1]}
	}
	var d stat.Demands
	var err error
	switch row["method"] {
	case "croston":
		d, err = stat.Croston(y, w[0])
	case "sba":
		d, err = stat.SBA(y, w[0])
	case "tsb":
		d, err = stat.TSB(y, w[0], w[1], start)
	default:
		t.Fatalf("no method %q", row["method"])
	}
	if answered(t, row["want"], err) {
		row.Near(t, map[string]float64{"size": d.Size, "gap": 1 / d.Chance, "rate": d.Rate}[row["what"]], nil, "want")
	}
}

// weekly are counts of weeks of which most have none.
var weekly = rapid.SliceOfN(rapid.SampledFrom([]float64{0, 0, 0, 1, 2, 7}), 1, 60)

// A rate is a number from 0 to the most that came in a week, whatever came; and
// nothing that comes lowers what TSB expects and leaves that of Croston.
func TestIntermittentProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y, alpha := weekly.Draw(t, "y"), rapid.Float64Range(0, 1).Draw(t, "alpha")
		most := 0.0
		for _, v := range y {
			most = max(most, v)
		}
		longer := append(append([]float64(nil), y...), 0)
		for name, rate := range map[string]func([]float64) (stat.Demands, error){
			"croston": func(y []float64) (stat.Demands, error) { return stat.Croston(y, alpha) },
			"sba":     func(y []float64) (stat.Demands, error) { return stat.SBA(y, alpha) },
			"tsb":     func(y []float64) (stat.Demands, error) { return stat.TSB(y, 0.1, alpha, stat.Demands{}) },
		} {
			d, err := rate(y)
			later, err2 := rate(longer)
			if err != nil || err2 != nil || !(d.Rate >= 0 && d.Rate <= most*(1+1e-12)) || math.IsNaN(d.Size+d.Chance) {
				t.Errorf("%s of %v: %+v, %v %v", name, y, d, err, err2)
			}
			if later.Rate > d.Rate || name != "tsb" && later != d {
				t.Errorf("%s of %v: %+v, and after a week without %+v", name, y, d, later)
			}
		}
	})
}
