package stat_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

func checkLine(t *testing.T, row vector.Row) {
	l, err := stat.Straight(floats(t, row["x"]), floats(t, row["y"]))
	if !answered(t, row["intercept"], err) {
		return
	}
	row.Near(t, l.Intercept, nil, "intercept")
	row.Near(t, l.Slope, nil, "slope")
	row.Near(t, l.Residual, nil, "residual")
	got, err := l.Next(float(t, row["at"]), float(t, row["level"]))
	row.Near(t, got.Low, err, "low")
	row.Near(t, got.High, err, "high")
}

// TestLineMoves holds that the line goes with its points: far away, where sums
// of squares would cancel, its slope is the same.
func TestLineMoves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfNDistinct(rapid.IntRange(-1000, 1000), 3, 20, rapid.ID).Draw(t, "x")
		right, up := rapid.IntRange(-1e9, 1e9).Draw(t, "right"), rapid.IntRange(-1e9, 1e9).Draw(t, "up")
		var here, there, low, high []float64
		for _, v := range x {
			y := rapid.IntRange(-1000, 1000).Draw(t, "y")
			here, low = append(here, float64(v)), append(low, float64(y))
			there, high = append(there, float64(v+right)), append(high, float64(y+up))
		}
		a, err := stat.Straight(here, low)
		if err != nil {
			t.Fatal(err)
		}
		b, err := stat.Straight(there, high)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(a.Slope-b.Slope) > 1e-6 || math.Abs(a.Residual-b.Residual) > 1e-5*(1+a.Residual) {
			t.Errorf("slope %v and %v, residual %v and %v", a.Slope, b.Slope, a.Residual, b.Residual)
		}
	})
}

// What overflows is refused rather than no number, and a refusal names what was
// wrong.
func TestALineIsFiniteOrNone(t *testing.T) {
	if l, err := stat.Straight([]float64{-1e200, 0, 1e200}, []float64{1, 2, 3}); err == nil {
		t.Errorf("squares that overflow: %+v", l)
	}
	l, err := stat.Straight([]float64{1, 2, 3}, []float64{2, 4, 7})
	if err != nil {
		t.Fatal(err)
	}
	if i, err := l.Next(math.NaN(), 0.8); err == nil {
		t.Errorf("at no number: %+v", i)
	}
	if _, err := l.Next(2, 1.5); err == nil || !strings.HasPrefix(err.Error(), "level 1.5") {
		t.Errorf("at a level of 1.5: %v", err)
	}
}

func BenchmarkStraight(b *testing.B) {
	x, y := make([]float64, 500), make([]float64, 500)
	for i := range x {
		x[i], y[i] = float64(i%90), float64(i%70)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := stat.Straight(x, y); err != nil {
			b.Fatal(err)
		}
	}
}
