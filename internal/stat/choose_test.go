package stat

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/vector"
)

// The errors of one origin are those that were published. Period 0 stands for
// the mean of all.
func TestErrorsAsPublished(t *testing.T) {
	for _, row := range vector.Rows(t, "stat", "errors") {
		var y []float64
		for _, s := range vector.Rows(t, "stat", "series") {
			if s["name"] != row["series"] {
				continue
			}
			for word := range strings.FieldsSeq(s["values"]) {
				v, err := strconv.ParseFloat(word, 64)
				if err != nil {
					t.Fatal(err)
				}
				y = append(y, v)
			}
		}
		first, period := int(row.Float(t, "first")), int(row.Float(t, "period"))
		tr := trial{weeks: y, ahead: int(row.Float(t, "ahead")), first: first, origins: 1}
		tr.abs, tr.square = naive(y[:first], 4)
		var walk foreteller = &plain{}
		if period > 0 {
			walk = lastTurn(y[:first], period)
		} else {
			for _, v := range y[:first] {
				walk.see(v)
			}
		}
		got := tr.run(walk, "")
		row.Near(t, map[string]float64{"mase": got.MASE, "rmsse": got.RMSSE, "total": got.Total}[row["what"]], nil, "want")
	}
}

// history is weeks of a part that nobody asks for in most of them.
func history(t *rapid.T, n int) []float64 {
	y := rapid.SliceOfN(rapid.SampledFrom([]float64{0, 0, 0, 1, 1, 2, 6}), n, n).Draw(t, "weeks")
	for i := range LeastDemands {
		y[3*i] = max(y[3*i], 1)
	}
	return y
}

// What a trial says is what comes out where each model is fitted anew at each
// origin to the weeks before it alone: no model saw a week it foretold. And the
// model with the least error is the one that was chosen.
func TestChooseIsByWeeksNobodySaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, ahead := rapid.SampledFrom([]int{45, 80, 104, 110, 170}).Draw(t, "n"), rapid.IntRange(1, 7).Draw(t, "ahead")
		y := history(t, n)
		c, err := Choose(y, ahead)
		if err != nil {
			t.Fatal(err)
		}
		for _, trial := range c.Trials {
			totals := 0.0
			for origin := n - ahead - c.Origins + 1; origin <= n-ahead; origin++ {
				weeks, err := trial.Model.Forecast(y[:origin], ahead)
				if err != nil {
					t.Fatal(err)
				}
				total := 0.0
				for i, v := range weeks {
					total += y[origin+i] - v
				}
				totals += total * total / float64(c.Origins)
			}
			if want := math.Sqrt(totals); math.Abs(trial.Total-want) > 1e-9*(1+want) {
				t.Errorf("%s is said to be off by %v, anew it is %v", trial.Model, trial.Total, want)
			}
			if trial.Total < c.Total-1e-9 {
				t.Errorf("%s is off by %v, and %s with %v was chosen", trial.Model, trial.Total, c.Model, c.Total)
			}
		}
		if weeks, err := c.Model.Forecast(y, ahead); err != nil || !reflect.DeepEqual(weeks, c.Weeks) {
			t.Errorf("%s foretells %v, %v, chosen %v", c.Model, weeks, err, c.Weeks)
		}
		if again, _ := Choose(y, ahead); !reflect.DeepEqual(again, c) {
			t.Errorf("%+v, and again %+v", c, again)
		}
		if bar := map[bool]Model{true: ByYear, false: ByMean}[n >= 104]; c.Bar.Model != bar || c.Model != bar && c.Total >= c.Bar.Total {
			t.Errorf("%+v against %+v, want a bar of %s", c.Trial, c.Bar, bar)
		}
	})
}

// Every model says of a history that does not move that it goes on; but SBA,
// which takes off half its weight (see there). No model beats the bar of it.
func TestForecastOfAConstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, v := rapid.SampledFrom([]int{60, 104, 170}).Draw(t, "n"), rapid.Float64Range(0.1, 50).Draw(t, "v")
		y := make([]float64, n)
		for i := range y {
			y[i] = v
		}
		for _, m := range Models() {
			if n < m.Least() {
				continue
			}
			weeks, err := m.Forecast(y, 5)
			if err != nil {
				t.Fatal(err)
			}
			for _, got := range weeks {
				if m == BySBA && got < v && got >= 0.85*v {
					continue
				}
				if math.Abs(got-v) > 1e-9*v {
					t.Errorf("%s of %v: %v", m, v, got)
				}
			}
		}
		c, err := Choose(y, 5)
		if err != nil || c.Model != c.Bar.Model || c.Total > 1e-9 || math.IsNaN(c.RMSSE+c.MASE) {
			t.Errorf("%+v, %v", c.Trial, err)
		}
	})
}

// No forecast is below 0 or no number, of any history.
func TestForecastIsACount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfN(rapid.SampledFrom([]float64{0, 0, 0, 3, 40}), 0, 130).Draw(t, "weeks")
		for _, m := range Models() {
			weeks, err := m.Forecast(y, 60)
			if few := errors.As(err, &TooFew{}); few != (len(y) < m.Least()) {
				t.Errorf("%s of %d weeks: %v", m, len(y), err)
			}
			for _, v := range weeks {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Errorf("%s of %v: %v", m, y, weeks)
				}
			}
		}
	})
}

func TestChooseSaysWhatIsMissing(t *testing.T) {
	long := make([]float64, 60)
	for i := range LeastDemands {
		long[7*i] = 1
	}
	for _, c := range []struct {
		weeks []float64
		ahead int
		want  Sparse
	}{
		{nil, 4, Sparse{0, 42, 0, 8}},
		{long[:41], 4, Sparse{41, 42, 6, 8}},
		{long[1:], 4, Sparse{59, 42, 7, 8}},
		{make([]float64, 300), 1, Sparse{300, 39, 0, 8}},
	} {
		var got Sparse
		if _, err := Choose(c.weeks, c.ahead); !errors.As(err, &got) || got != c.want {
			t.Errorf("%d weeks: %v, want %+v", len(c.weeks), err, c.want)
		}
	}
	if _, err := Choose(long, 4); err != nil {
		t.Error(err)
	}
	for _, bad := range [][]float64{{math.NaN()}, {-1}} {
		if _, err := Choose(append(bad, long...), 4); err == nil || errors.As(err, &Sparse{}) {
			t.Errorf("weeks with %v: %v", bad, err)
		}
	}
	if _, err := Choose(long, MostAhead+1); err == nil {
		t.Error("more than half a year ahead")
	}
	if _, err := Model("tea leaves").Forecast(long, 1); err == nil || errors.As(err, &TooFew{}) {
		t.Errorf("a model nobody knows: %v", err)
	}
	at := func(k int) float64 { i, _ := Poisson(k, 0.95); return i.High / float64(k) }
	if at(LeastDemands) > 2 || at(LeastDemands-1) <= 2 {
		t.Errorf("the rate behind %d demands may be %v times as high, behind one less %v", LeastDemands, at(LeastDemands), at(LeastDemands-1))
	}
}

// demand is weeks of Poisson demand around a mean of each.
func demand(r *rand.Rand, n int, mean func(week float64) float64) []float64 {
	y := make([]float64, n)
	for i := range y {
		for p := r.ExpFloat64(); p < mean(float64(i)); p += r.ExpFloat64() {
			y[i]++
		}
	}
	return y
}

// On weeks that come after all that was seen, what is chosen is off by less than
// seasonal-naive, where there is a season and where there is none. The means are
// invented; math/rand/v2 draws around them.
func TestChoosePaysOff(t *testing.T) {
	for name, c := range map[string]struct {
		mean func(week float64) float64
		most float64 // error over that of seasonal-naive
	}{
		"one in three weeks":  {func(float64) float64 { return 0.3 }, 0.85},
		"two a week":          {func(float64) float64 { return 2 }, 0.85},
		"less and less":       {func(w float64) float64 { return 4 * math.Exp(-w/40) }, 0.85},
		"more and more":       {func(w float64) float64 { return 0.2 + w/40 }, 0.75},
		"a rush each spring":  {func(w float64) float64 { return 3 * (1 + 0.8*math.Sin(2*math.Pi*w/52)) }, 0.95},
		"a larger one":        {func(w float64) float64 { return 15 * (1 + 0.8*math.Sin(2*math.Pi*w/52)) }, 0.95},
		"asked for, then not": {func(w float64) float64 { return math.Max(0, math.Copysign(2, 80-w)) }, 0.4},
	} {
		got, err := beside(c.mean)
		t.Logf("%s: %.2f of seasonal-naive", name, got)
		if err != nil || got > c.most {
			t.Errorf("%s: off by %v of what seasonal-naive is, want at most %v, %v", name, got, c.most, err)
		}
	}
}

// beside is the root mean squared error of what is chosen over that of
// seasonal-naive, of the six weeks after the history of many parts.
func beside(mean func(week float64) float64) (float64, error) {
	const weeks, ahead = 110, 6
	r := rand.New(rand.NewPCG(7, 11))
	chosen, bar := 0.0, 0.0
	for range 200 {
		y := demand(r, weeks+ahead, mean)
		choice, err := Choose(y[:weeks], ahead)
		if errors.As(err, &Sparse{}) {
			continue
		}
		last, err2 := ByYear.Forecast(y[:weeks], ahead)
		if err != nil || err2 != nil {
			return 0, errors.Join(err, err2)
		}
		a, b := 0.0, 0.0
		for i := range ahead {
			a += y[weeks+i] - choice.Weeks[i]
			b += y[weeks+i] - last[i]
		}
		chosen, bar = chosen+a*a, bar+b*b
	}
	return math.Sqrt(chosen / bar), nil
}

// A shelf of 5,000 items of two years.
func BenchmarkChoose(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	shelf := make([][]float64, 5000)
	for i := range shelf {
		shelf[i] = demand(r, 104, func(float64) float64 { return 0.1 + float64(i%40)/10 })
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, y := range shelf {
			if _, err := Choose(y, 5); err != nil && !errors.As(err, &Sparse{}) {
				b.Fatal(err)
			}
		}
	}
}
