package airspring_test

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"damperdesk/internal/airspring"
)

// plain has no negative chamber: 180 mm of air over 120 mm of travel.
var plain = airspring.Spring{Area: 1e-3, Travel: 0.12, Column: 0.18}

func charged(t testing.TB, s airspring.Spring, gauge, n float64) airspring.Charged {
	t.Helper()
	c, err := s.Charge(gauge, airspring.SeaLevel, n)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// 600 kPa gauge squeezed to a third: 2002.650, 2519.662, 2824.019 and 3163.719
// kPa (arithmetic, pVⁿ).
func TestBottomOutFollowsTheGasLaw(t *testing.T) {
	for n, kpa := range map[float64]float64{1: 2002.650, 1.2: 2519.662, 1.3: 2824.019, 1.4: 3163.719} {
		if got := charged(t, plain, 600e3, n).BottomOut(); math.Abs(got-kpa) > 1e-3*1 {
			t.Errorf("n = %v: %v N, want %v", n, got, kpa)
		}
	}
}

// Two thirds of the column filled leave the rest of it: spacers are as good as a
// shorter column.
func TestSpacersShortenTheColumn(t *testing.T) {
	long := airspring.Spring{Area: 1e-3, Travel: 0.12, Column: 0.2, Spacer: 0.02 * 1e-3}
	a, b := charged(t, long, 600e3, airspring.Hit), charged(t, plain, 600e3, airspring.Hit)
	if math.Abs(a.BottomOut()-b.BottomOut()) > 1e-6 {
		t.Errorf("%v N with spacers, %v N without", a.BottomOut(), b.BottomOut())
	}
}

// balanced has a negative chamber that is joined 5 mm into the travel, and a
// top-out spring.
var balanced = airspring.Spring{Area: 9e-4, Negative: 8e-4, Travel: 0.15, Column: 0.21, NegativeColumn: 0.06, Equal: 0.005, TopOut: 20e3, TopOutLength: 0.01}

// Where the chambers are joined both have what was pumped in.
func TestChambersAreEqualWhereTheyMeet(t *testing.T) {
	c := charged(t, balanced, 500e3, airspring.Slow)
	if p, q := c.Positive(0.005), c.Below(0.005); math.Abs(p-500e3) > 1e-6 || math.Abs(q-500e3) > 1e-6 {
		t.Errorf("%v and %v Pa, want 500 kPa", p, q)
	}
}

func draw(t *rapid.T) (airspring.Charged, float64) {
	s := airspring.Spring{
		Area: rapid.Float64Range(4e-4, 1.5e-3).Draw(t, "area"), Travel: rapid.Float64Range(0.08, 0.2).Draw(t, "travel"),
		TopOut: rapid.Float64Range(0, 4e4).Draw(t, "top-out"), TopOutLength: rapid.Float64Range(0, 0.02).Draw(t, "its length"),
	}
	s.Negative = s.Area * rapid.Float64Range(0, 1).Draw(t, "share of the negative area")
	s.Column = s.Travel * rapid.Float64Range(1.15, 3).Draw(t, "column")
	s.NegativeColumn = s.Travel * rapid.Float64Range(0.1, 1).Draw(t, "negative column")
	s.Equal = s.Travel * rapid.Float64Range(0, 0.1).Draw(t, "meets")
	c, err := s.Charge(rapid.Float64Range(1e5, 1.5e6).Draw(t, "gauge"), airspring.SeaLevel, rapid.Float64Range(1, 1.4).Draw(t, "n"))
	if err != nil {
		t.Fatal(err)
	}
	return c, s.Travel * rapid.Float64Range(0.15, 0.99).Draw(t, "travel used")
}

// Stiffness is the slope of the force and energy its integral, by gonum's finite
// differences and Gauss-Legendre quadrature.
func TestForceStiffnessAndEnergyAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, x := draw(t)
		slope := fd.Derivative(c.Force, x, &fd.Settings{Formula: fd.Central, Step: 1e-6})
		if k := c.Stiffness(x); math.Abs(slope-k) > 1e-5*k {
			t.Errorf("stiffness %v N/m, slope %v", k, slope)
		}
		area := quad.Fixed(c.Force, 0, min(x, c.TopOutLength), 60, quad.Legendre{}, 0)
		if x > c.TopOutLength {
			area += quad.Fixed(c.Force, c.TopOutLength, x, 60, quad.Legendre{}, 0)
		}
		if e := c.Energy(x); math.Abs(e-area) > 1e-8*(1+math.Abs(e)) {
			t.Errorf("energy %v J, integral %v", e, area)
		}
	})
}

// The force grows with travel; a load sags to where the spring holds it, more of
// it further; and the pressure for a sag brings that sag.
func TestSagProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, x := draw(t)
		if c.Force(x) <= c.Force(x*0.9) {
			t.Errorf("%v N at %v m, %v at a tenth less", c.Force(x), x, c.Force(x*0.9))
		}
		load := c.Force(x)
		if load <= 0 {
			return
		}
		got, err := c.Sag(load)
		if err != nil || math.Abs(got-x) > 1e-9 {
			t.Errorf("a load of %v N sags to %v, %v; want %v", load, got, err, x)
		}
		more, err := c.Sag(load * 1.1)
		if err != nil || more < got {
			t.Errorf("a tenth more sags to %v, %v", more, err)
		}
		p, err := c.Pressure(load, x, airspring.SeaLevel)
		if err != nil {
			return // more than the load is held without air
		}
		slow, err := c.Charge(p, airspring.SeaLevel, airspring.Slow)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := slow.Sag(load); err != nil || math.Abs(back-x) > 1e-9 {
			t.Errorf("pumped to %v Pa it sags to %v, %v; want %v", p, back, err, x)
		}
	})
}

// Units do not matter: a spring ten times as long in every direction, a hundred
// times the areas, holds a hundred times the load at ten times the sag.
func TestSagScales(t *testing.T) {
	big := balanced
	big.Area, big.Negative = big.Area*100, big.Negative*100
	for _, l := range []*float64{&big.Travel, &big.Column, &big.NegativeColumn, &big.Equal, &big.TopOutLength} {
		*l *= 10
	}
	big.TopOut *= 10
	small, err := charged(t, balanced, 500e3, airspring.Slow).Sag(400)
	large, err2 := charged(t, big, 500e3, airspring.Slow).Sag(40000)
	if err != nil || err2 != nil || math.Abs(large-10*small) > 1e-9 {
		t.Errorf("%v and %v, %v, %v", small, large, err, err2)
	}
}

// Pairs made by a spring lead back to it; one pair keeps the assumed column and
// agrees all the same.
func TestFitFindsTheSpring(t *testing.T) {
	truth := balanced
	truth.TopOut, truth.TopOutLength = 0, 0
	const load = 420
	pair := func(sag float64) airspring.Pair {
		p, err := truth.Pressure(load, sag, airspring.SeaLevel)
		if err != nil {
			t.Fatal(err)
		}
		return airspring.Pair{Gauge: p, Sag: sag}
	}
	assumed := truth
	assumed.Area, assumed.Negative = truth.Area*0.7, truth.Negative*0.7
	assumed.Column, assumed.NegativeColumn = truth.Column*1.3, truth.NegativeColumn*1.3
	for name, c := range map[string]struct {
		pairs  []airspring.Pair
		column bool
	}{
		"one":          {[]airspring.Pair{pair(0.03)}, false},
		"two the same": {[]airspring.Pair{pair(0.03), pair(0.031)}, false},
		"three apart":  {[]airspring.Pair{pair(0.02), pair(0.03), pair(0.045)}, true},
	} {
		got, err := airspring.Fit(assumed, c.pairs, load, airspring.SeaLevel)
		if err != nil || got.ColumnToo != c.column || got.Worst > 2000 {
			t.Errorf("%s: %+v, %v", name, got, err)
			continue
		}
		if c.column && (math.Abs(got.Column-truth.Column) > 1e-4 || math.Abs(got.Area-truth.Area) > 1e-3*truth.Area) {
			t.Errorf("%s: %+v, want %+v", name, got.Spring, truth)
		}
		next, _, err := got.Next(load, c.pairs[0].Sag, airspring.SeaLevel, airspring.Limits{})
		if err != nil || math.Abs(next-c.pairs[0].Gauge) > 2000 {
			t.Errorf("%s: for the sag it has %v Pa, %v; it has %v", name, next, err, c.pairs[0].Gauge)
		}
	}
}

// Spacers keep their volume while the areas are fitted, and a top-out spring its
// force: each pair made by such a spring leads back to its area.
func TestFitKeepsSpacersAndTopOut(t *testing.T) {
	truth := balanced
	truth.Spacer, truth.Column = 3e-5, truth.Column+0.03
	for _, sag := range []float64{0.004, 0.03} { // on the top-out spring, and off it
		p, err := truth.Pressure(420, sag, airspring.SeaLevel)
		if err != nil {
			t.Fatal(err)
		}
		assumed := truth
		assumed.Area, assumed.Negative = truth.Area*1.3, truth.Negative*1.3
		got, err := airspring.Fit(assumed, []airspring.Pair{{Gauge: p, Sag: sag}}, 420, airspring.SeaLevel)
		if err != nil || math.Abs(got.Area-truth.Area) > 1e-9*truth.Area || got.Spacer != truth.Spacer || got.Worst > 1e-3 {
			t.Errorf("sag %v: area %v, %v, misses %v Pa; want %v", sag, got.Area, err, got.Worst, truth.Area)
		}
	}
}

// A light rider on a spring that was assumed far too large is fitted all the
// same.
func TestFitOfALightRider(t *testing.T) {
	small := balanced
	small.Area, small.Negative = balanced.Area/5, balanced.Negative/5
	p, err := small.Pressure(80, 0.07, airspring.SeaLevel)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := balanced.Pressure(80, 0.07, airspring.SeaLevel); err == nil {
		t.Fatal("the assumed spring could hold so little: the test says nothing")
	}
	got, err := airspring.Fit(balanced, []airspring.Pair{{Gauge: p, Sag: 0.07}}, 80, airspring.SeaLevel)
	if err != nil || math.Abs(got.Area-small.Area) > 1e-9*small.Area {
		t.Errorf("area %v, %v; want %v", got.Area, err, small.Area)
	}
}

func TestNextStaysInTheMakersLimits(t *testing.T) {
	next := func(sag float64) (float64, airspring.Bound) {
		p, bound, err := plain.Next(500, sag, airspring.SeaLevel, airspring.Limits{Least: 3e5, Most: 5e5})
		if err != nil {
			t.Fatal(err)
		}
		return p, bound
	}
	if p, bound := next(0.005); bound != airspring.Free && bound != airspring.AtMost || p > 5e5 {
		t.Errorf("little sag: %v Pa, %q", p, bound)
	}
	if p, bound := next(0.08); bound != airspring.AtLeast || p != 3e5 {
		t.Errorf("much sag: %v Pa, %q", p, bound)
	}
	if _, _, err := plain.Next(500, 0.02, airspring.SeaLevel, airspring.Limits{Least: 6e5, Most: 5e5}); err == nil {
		t.Error("limits the wrong way round")
	}
}

func TestWhatIsNoSpringIsRefusedByItsName(t *testing.T) {
	with := func(change func(*airspring.Spring)) airspring.Spring {
		s := balanced
		change(&s)
		return s
	}
	for says, s := range map[string]airspring.Spring{
		"area 0":                          with(func(s *airspring.Spring) { s.Area = 0 }),
		"area of the negative chamber -1": with(func(s *airspring.Spring) { s.Negative = -1 }),
		"travel NaN":                      with(func(s *airspring.Spring) { s.Travel = math.NaN() }),
		"column 0.15 m":                   with(func(s *airspring.Spring) { s.Column = 0.15 }),
		"with spacers of 0.01":            with(func(s *airspring.Spring) { s.Spacer = 0.01 }),
		"column of the negative":          with(func(s *airspring.Spring) { s.NegativeColumn = 0 }),
		"chambers meet":                   with(func(s *airspring.Spring) { s.Equal = 0.2 }),
		"top-out spring":                  with(func(s *airspring.Spring) { s.TopOut = -1 }),
	} {
		if _, err := s.Charge(5e5, airspring.SeaLevel, 1); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
	for says, try := range map[string]func() error{
		"exponent 2":          func() error { _, err := plain.Charge(5e5, airspring.SeaLevel, 2); return err },
		"pressure of the air": func() error { _, err := plain.Charge(5e5, 0, 1); return err },
		"load -1":             func() error { _, err := charged(t, plain, 5e5, 1).Sag(-1); return err },
		"sag 0.2":             func() error { _, err := plain.Pressure(500, 0.2, airspring.SeaLevel); return err },
		"it takes one":        func() error { _, err := airspring.Fit(plain, nil, 500, airspring.SeaLevel); return err },
		"pressure 1": func() error {
			_, err := airspring.Fit(plain, []airspring.Pair{{-5, 0.02}}, 500, airspring.SeaLevel)
			return err
		},
		"holds more than": func() error { _, err := plain.Pressure(1, 0.1, airspring.SeaLevel); return err },
		"whatever is pumped in": func() error {
			s := balanced
			s.Negative = 1e-2
			_, err := s.Pressure(500, 0.001, airspring.SeaLevel)
			return err
		},
	} {
		if err := try(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v, want %q", err, says)
		}
	}
}

func BenchmarkSag(b *testing.B) {
	b.ReportAllocs()
	c := charged(b, balanced, 5e5, airspring.Slow)
	for b.Loop() {
		if _, err := c.Sag(400); err != nil {
			b.Fatal(err)
		}
	}
}
