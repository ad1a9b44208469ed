package stat_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

// series are the values of testdata/stat/series.csv by their name.
func series(t *testing.T, name string) []float64 {
	t.Helper()
	for _, row := range vector.Rows(t, "stat", "series") {
		if row["name"] == name {
			return floats(t, row["values"])
		}
	}
	t.Fatalf("no series %q", name)
	return nil
}

// smooth does what a row of smoothing.csv describes.
func smooth(t *testing.T, row vector.Row) (stat.Smoothed, stat.Weights, error) {
	t.Helper()
	y, form := series(t, row["series"]), stat.Form(row["form"])
	var start stat.Start
	if row["start"] == "estimated" {
		turn := 0
		if row["series"] == "airline" {
			turn = 12
		}
		var err error
		if start, err = form.Start(y, turn); err != nil {
			return stat.Smoothed{}, stat.Weights{}, err
		}
	} else {
		all := append(floats(t, row["start"]), 0, 0)
		start = stat.Start{Level: all[0], Trend: all[1], Season: all[2:max(len(all)-2, 2)], From: whole(t, row["from"])}
	}
	if row["weights"] == "estimated" {
		w, err := form.Weigh(y, start)
		if err != nil {
			return stat.Smoothed{}, w, err
		}
		s, err := form.Smooth(y, w, start)
		return s, w, err
	}
	all := append(floats(t, row["weights"]), 0, 0)
	w := stat.Weights{Level: all[0], Trend: all[1], Season: all[2]}
	s, err := form.Smooth(y, w, start)
	return s, w, err
}

func checkSmoothing(t *testing.T, row vector.Row) {
	s, w, err := smooth(t, row)
	if !answered(t, row["want"], err) {
		return
	}
	what, n, numbered := strings.Cut(row["what"], " ")
	at := 1
	if numbered {
		at = whole(t, n)
	}
	got := map[string]float64{"alpha": w.Level, "beta": w.Trend, "gamma": w.Season, "sse": s.SSE, "level": s.Level, "trend": s.Trend}
	got["next"], got["fitted"] = s.Next(at)[at-1], s.Fitted[min(at, len(s.Fitted))-1]
	if len(s.Season) > 0 {
		got["season"] = s.Season[min(at, len(s.Season))-1]
	}
	v, known := got[what]
	if !known {
		t.Fatalf("nothing is called %q", what)
	}
	row.Near(t, v, nil, "want")
}

// smoothed draws a smoothing and goes through y by it.
func smoothed(t *rapid.T) func(y []float64) (stat.Smoothed, error) {
	share := rapid.Float64Range(0, 1)
	w := stat.Weights{Level: share.Draw(t, "alpha"), Trend: share.Draw(t, "beta"), Season: share.Draw(t, "gamma")}
	form := rapid.SampledFrom([]stat.Form{stat.Flat, stat.Sloped, stat.Added, stat.Scaled}).Draw(t, "form")
	turn := rapid.IntRange(2, 6).Draw(t, "turn")
	return func(y []float64) (stat.Smoothed, error) {
		start, err := form.Start(y, turn)
		if err != nil {
			t.Fatal(err)
		}
		return form.Smooth(y, w, start)
	}
}

// A series that does not move is foretold to go on, whatever the weights.
func TestSmoothingOfAConstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level := rapid.Float64Range(0.1, 1000).Draw(t, "level")
		still := make([]float64, 20)
		for i := range still {
			still[i] = level
		}
		s, err := smoothed(t)(still)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range s.Next(9) {
			if math.Abs(v-level) > 1e-9*level {
				t.Errorf("%v goes on as %v", level, v)
			}
		}
	})
}

// A series that is twice as large is foretold twice as large.
func TestSmoothingScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y, twice := rapid.SliceOfN(rapid.Float64Range(50, 80), 20, 20).Draw(t, "y"), make([]float64, 20)
		for i, v := range y {
			twice[i] = 2 * v
		}
		smooth := smoothed(t)
		one, err := smooth(y)
		two, err2 := smooth(twice)
		if (err == nil) != (err2 == nil) {
			t.Fatalf("%v, and of twice as much %v", err, err2)
		}
		if err != nil {
			t.Skip("it leaves all bounds")
		}
		for i, v := range one.Next(5) {
			if got := two.Next(5)[i]; math.Abs(got-2*v) > 1e-6*(1+math.Abs(v)) {
				t.Errorf("step %d is %v, and of twice as much %v", i, v, got)
			}
		}
	})
}

// What a smoothing says of where it ended is what it goes on from.
func TestSmoothedGoesOnFromItsEnd(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := smoothed(t)(rapid.SliceOfN(rapid.Float64Range(50, 80), 20, 20).Draw(t, "y"))
		if err != nil {
			t.Skip("it leaves all bounds")
		}
		for i, v := range s.Next(8) {
			level := s.Level + float64(i+1)*s.Trend
			added, scaled := level, level
			if n := len(s.Season); n > 0 {
				added, scaled = level+s.Season[i%n], level*s.Season[i%n]
			}
			if near := 1e-9 * (1 + math.Abs(v)); math.Abs(v-added) > near && math.Abs(v-scaled) > near {
				t.Errorf("step %d is %v, of %+v", i+1, v, s)
			}
		}
	})
}

// What is found misses no more than any other weights do.
func TestWeighFindsTheLeast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.Float64Range(50, 80), 12, 30).Draw(t, "y")
		form := rapid.SampledFrom([]stat.Form{stat.Flat, stat.Sloped}).Draw(t, "form")
		start, err := form.Start(y, 0)
		if err != nil {
			t.Fatal(err)
		}
		sse := func(w stat.Weights) float64 {
			s, err := form.Smooth(y, w, start)
			if err != nil {
				t.Fatal(err)
			}
			return s.SSE
		}
		found, err := form.Weigh(y, start)
		if err != nil {
			t.Fatal(err)
		}
		share := rapid.SampledFrom([]float64{0.1, 0.3, 0.5, 0.7, 0.9})
		for range 20 {
			other := stat.Weights{Level: share.Draw(t, "alpha"), Trend: share.Draw(t, "beta")}
			if got, least := sse(found), sse(other); got > least*(1+1e-9) {
				t.Errorf("%+v misses %v, %+v %v", found, got, other, least)
			}
		}
	})
}
