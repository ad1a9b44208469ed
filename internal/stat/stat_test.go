package stat_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/stat"
	"damperdesk/internal/vector"
)

// TestVectors runs every row of testdata/stat. A first expected cell of "too
// few" or "refused" asks for that instead of a value.
func TestVectors(t *testing.T) {
	for file, check := range map[string]func(*testing.T, vector.Row){
		"quantile":     checkQuantile,
		"wilson":       checkWilson,
		"poisson":      checkPoisson,
		"least":        checkLeast,
		"individuals":  checkIndividuals,
		"signals":      checkSignals,
		"line":         checkLine,
		"shrink":       checkShrink,
		"smoothing":    checkSmoothing,
		"intermittent": checkIntermittent,
		"reorder":      checkReorder,
		"overlead":     checkOverLead,
		"costs":        checkCosts,
		"classes":      checkClasses,
		"passage":      checkPassage,
		"rate":         checkRate,
		"rode":         checkRode,
	} {
		t.Run(file, func(t *testing.T) {
			for i, row := range vector.Rows(t, "stat", file) {
				t.Run(strconv.Itoa(i+2), func(t *testing.T) {
					check(t, row)
				})
			}
		})
	}
}

func float(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func whole(t *testing.T, text string) int {
	t.Helper()
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func floats(t *testing.T, text string) []float64 {
	t.Helper()
	var list []float64
	for word := range strings.FieldsSeq(text) {
		list = append(list, float(t, word))
	}
	return list
}

// answered reports whether a value is wanted, after checking an error that is
// wanted instead.
func answered(t *testing.T, want string, err error) bool {
	t.Helper()
	isFew := errors.As(err, new(stat.TooFew))
	switch want {
	case "too few":
		if !isFew {
			t.Errorf("error %v, want too few", err)
		}
		return false
	case "refused":
		if err == nil || isFew {
			t.Errorf("error %v, want a refusal", err)
		}
		return false
	}
	if err != nil {
		t.Errorf("error %v, want %s", err, want)
	}
	return err == nil
}

func checkQuantile(t *testing.T, row vector.Row) {
	x := floats(t, row["x"])
	before := slices.Clone(x)
	got, err := stat.Quantile(x, float(t, row["p"]))
	if answered(t, row["want"], err) {
		row.Near(t, got, err, "want")
		if !slices.Equal(x, before) {
			t.Errorf("the values were moved to %v", x)
		}
	}
}

func checkWilson(t *testing.T, row vector.Row) {
	got, err := stat.Wilson(whole(t, row["k"]), whole(t, row["n"]), float(t, row["level"]))
	if answered(t, row["low"], err) {
		row.Near(t, got.Low, err, "low")
		row.Near(t, got.High, err, "high")
	}
}

func checkPoisson(t *testing.T, row vector.Row) {
	got, err := stat.Poisson(whole(t, row["k"]), float(t, row["level"]))
	if answered(t, row["low"], err) {
		row.Near(t, got.Low, err, "low")
		row.Near(t, got.High, err, "high")
	}
}

func checkLeast(t *testing.T, row vector.Row) {
	got, err := stat.Least(float(t, row["p"]), float(t, row["sure"]))
	if answered(t, row["want"], err) && got != whole(t, row["want"]) {
		t.Errorf("%v: %d", row, got)
	}
}

func checkIndividuals(t *testing.T, row vector.Row) {
	got, err := stat.Individuals(floats(t, row["x"]))
	if answered(t, row["mean"], err) {
		row.Near(t, got.Mean, err, "mean")
		row.Near(t, got.Range, err, "range")
		row.Near(t, got.Low, err, "low")
		row.Near(t, got.High, err, "high")
	}
}

func checkSignals(t *testing.T, row vector.Row) {
	limits := stat.Limits{Mean: float(t, row["mean"]), Low: float(t, row["low"]), High: float(t, row["high"])}
	words := map[stat.Signal]string{stat.Above: "above", stat.Below: "below", stat.Over: "over", stat.Under: "under"}
	var got []string
	for i, s := range limits.Signals(floats(t, row["x"])) {
		if s != stat.Chance {
			got = append(got, fmt.Sprintf("%d:%s", i, words[s]))
		}
	}
	if s := strings.Join(got, " "); s != row["want"] {
		t.Errorf("%v: signals %q", row, s)
	}
}

// Six values say something of a median, five do not; of the share 0.85 it
// takes nineteen (least.csv).
func TestEstimateAsksForEnough(t *testing.T) {
	x := []float64{1, 2, 3, 4, 5, 6}
	if got, err := stat.Estimate(x, 0.5, 0.95); err != nil || got != 3.5 {
		t.Errorf("median of six: %v, %v; want 3.5", got, err)
	}
	for _, c := range []struct {
		x    []float64
		p    float64
		want stat.TooFew
	}{
		{x[:5], 0.5, stat.TooFew{Have: 5, Need: 6}},
		{nil, 0.5, stat.TooFew{Have: 0, Need: 6}},
		{x, 0.85, stat.TooFew{Have: 6, Need: 19}},
	} {
		var few stat.TooFew
		if _, err := stat.Estimate(c.x, c.p, 0.95); !errors.As(err, &few) || few != c.want {
			t.Errorf("share %v of %v: %v, want %+v", c.p, c.x, err, c.want)
		}
	}
	if _, err := stat.Estimate(x, 0, 0.95); err == nil {
		t.Error("an estimate of the least value there could be")
	}
}

var sample = rapid.SliceOfN(rapid.Float64Range(-1e6, 1e6), 1, 60)

// A quantile lies within its values, does not fall with the share, does not
// ask for the order, and moves with the values.
func TestQuantileProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := sample.Draw(t, "x")
		p, q := rapid.Float64Range(0, 1).Draw(t, "p"), rapid.Float64Range(0, 1).Draw(t, "q")
		quantile := func(x []float64, p float64) float64 {
			v, err := stat.Quantile(x, p)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		low, high := quantile(x, min(p, q)), quantile(x, max(p, q))
		if low > high || low < slices.Min(x) || high > slices.Max(x) {
			t.Errorf("quantiles %v and %v of %v", low, high, x)
		}
		if other := quantile(rapid.Permutation(x).Draw(t, "other order"), p); other != quantile(x, p) {
			t.Errorf("another order gives %v", other)
		}
		moved := make([]float64, len(x))
		for i, v := range x {
			moved[i] = 2*v + 3
		}
		if got, want := quantile(moved, p), 2*quantile(x, p)+3; math.Abs(got-want) > 1e-6 {
			t.Errorf("moved values give %v, want %v", got, want)
		}
	})
}

// Two equal values have no other value between them, and values far apart
// none beyond them, whatever the rounding.
func TestQuantileBetween(t *testing.T) {
	for _, x := range [][]float64{{1e6, 1e6}, {0.1, 0.1}, {0.1, math.Nextafter(0.1, 1)}, {-math.MaxFloat64, math.MaxFloat64}} {
		last := x[0]
		for i := range 1001 {
			got, err := stat.Quantile(x, float64(i)/1000)
			if err != nil || got < last || got > x[1] {
				t.Fatalf("quantile %d/1000 of %v is %v after %v, %v", i, x, got, last, err)
			}
			last = got
		}
	}
}

// An interval holds the share that was seen, mirrors, and narrows with more of
// the same.
func TestWilsonProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 2000).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		level := rapid.Float64Range(0.5, 0.999).Draw(t, "level")
		wilson := func(k, n int) stat.Interval {
			i, err := stat.Wilson(k, n, level)
			if err != nil {
				t.Fatal(err)
			}
			return i
		}
		i, share := wilson(k, n), float64(k)/float64(n)
		if !(i.Low >= 0 && i.Low <= share && share <= i.High && i.High <= 1) {
			t.Errorf("%d of %d: %+v", k, n, i)
		}
		if m := wilson(n-k, n); math.Abs(m.Low-(1-i.High)) > 1e-12 || math.Abs(m.High-(1-i.Low)) > 1e-12 {
			t.Errorf("%d of %d: %+v, mirrored %+v", k, n, i, m)
		}
		if more := wilson(4*k, 4*n); more.High-more.Low >= i.High-i.Low {
			t.Errorf("four times as many give %+v, no narrower than %+v", more, i)
		}
	})
}

// NIST StRD, Michelson's speed of light (a value is 299 + k/100) and NumAcc4:
// the certified means are 299.852400000000 and 10000000.2.
func TestMeanKeepsItsDigits(t *testing.T) {
	var michelso []float64
	for _, k := range []float64{
		85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96, 96, 94, 96, 94, 88, 80, 85, 88, 90, 84, 83, 79, 81, 88, 88,
		83, 80, 79, 76, 80, 88, 88, 88, 86, 72, 72, 62, 86, 97, 95, 88, 91, 85, 87, 84, 84, 85, 84, 84, 84, 89, 81, 81, 82, 80, 77, 76, 74, 75, 76,
		91, 92, 89, 86, 88, 72, 84, 85, 85, 78, 89, 84, 78, 81, 76, 81, 79, 81, 82, 85, 87, 87, 81, 74, 81, 94, 95, 80, 81, 87,
	} {
		michelso = append(michelso, 299+k/100)
	}
	numAcc4 := []float64{10000000.2}
	for range 500 {
		numAcc4 = append(numAcc4, 10000000.1, 10000000.3)
	}
	for name, c := range map[string]struct {
		x    []float64
		want float64
	}{"Michelso": {michelso, 299.8524}, "NumAcc4": {numAcc4, 10000000.2}} {
		got, err := stat.Individuals(c.x)
		if err != nil || math.Abs(got.Mean-c.want) > 1e-13*c.want {
			t.Errorf("%s: mean %.15g, %v; certified %.15g", name, got.Mean, err, c.want)
		}
	}
}

// More were counted, more are to be expected; more surely takes a wider
// interval; what was counted lies inside.
func TestPoissonProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, level := rapid.IntRange(0, 2000).Draw(t, "k"), rapid.Float64Range(0.5, 0.99).Draw(t, "level")
		a, err := stat.Poisson(k, level)
		more, err2 := stat.Poisson(k+1, level)
		wider, err3 := stat.Poisson(k, (1+level)/2)
		if err != nil || err2 != nil || err3 != nil || !(a.Low <= float64(k) && float64(k) < a.High) ||
			more.Low <= a.Low || more.High <= a.High || wider.High <= a.High || k > 0 && wider.Low >= a.Low {
			t.Errorf("%d at %v: %+v; one more %+v, more surely %+v; %v %v %v", k, level, a, more, wider, err, err2, err3)
		}
	})
	for _, bad := range []func() (stat.Interval, error){
		func() (stat.Interval, error) { return stat.Poisson(-1, 0.95) },
		func() (stat.Interval, error) { return stat.Poisson(3, 1) },
		func() (stat.Interval, error) { return stat.Poisson(3, math.NaN()) },
	} {
		if i, err := bad(); err == nil {
			t.Errorf("%+v", i)
		}
	}
}

func checkShrink(t *testing.T, row vector.Row) {
	var groups []stat.Count
	for word := range strings.FieldsSeq(row["groups"]) {
		k, n, _ := strings.Cut(word, "/")
		groups = append(groups, stat.Count{K: whole(t, k), N: whole(t, n)})
	}
	list, err := stat.Shrink(groups, float(t, row["level"]))
	if !answered(t, row["share"], err) {
		return
	}
	got := list[whole(t, row["group"])]
	row.Near(t, got.Share, nil, "share")
	row.Near(t, got.Low, nil, "low")
	row.Near(t, got.High, nil, "high")
}
