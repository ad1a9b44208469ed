package spec

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"damperdesk/internal/quantity"
)

// plain undoes the spaces that hold a number and its unit together.
func plain(text string) string { return strings.ReplaceAll(text, "\u00a0", " ") }

// The ranges are common practice (no source). Bounds are typed here in the
// trade's unit, apart from the table under test, and turned into SI by factors
// of NIST SP 811, appendix B.8.
func TestKeysAskBackOutsideTheTradesRange(t *testing.T) {
	factor := map[string]float64{"N·m": 1, "mL": 1e-6, "mm": 1e-3, "mm²/s": 1e-6, "psi": 6894.757293168361,
		"N/mm": 1000, "kg": 1, "%": 0.01, "": 1, "h": 1, "months": 1, "min": 1}
	for _, line := range strings.Split(strings.TrimSpace(`
foot bolt|N·m|5 10|3 15
air top cap|N·m|20 30|8 45
top cap|N·m|3 8|1 15
damper cap|N·m|20 30|8 45
damper seal head|N·m|8 25|3 40
shaft fastener|N·m|3 8|1 12
crown pinch|N·m|5 10|4 15
stem|N·m|4 7|3 10
axle|N·m|9 15|5 20
axle pinch|N·m|3 6|2 10
brake caliper|N·m|6 10|5 12
knob screw|N·m|0.5 1.5|0.2 3
bleed screw|N·m|0.5 2|0.3 4
lower-leg oil|mL|5 20|2 60
shared oil|mL|100 200|60 350
oil height|mm|60 130|30 200
damper fill|mL|60 200|30 350
air-side oil|mL|1 5|0 15
damper fluid|mm²/s|7 17|3 40
lower-leg viscosity|mm²/s|20 100|10 250
rider pressure|psi|45 120|25 220
maximum pressure|psi|120 220|80 320
minimum pressure|psi|20 45|0 80
leak test pressure|psi|20 45|0 80
damper gas|psi|100 250|30 450
air lost overnight|psi|0 3|0 10
volume spacers||0 5|0 10
coil rate|N/mm|4 10|2.5 15
travel|mm|80 200|40 230
sag|%|10 30|8 35
preload turns||1 5|0.5 10
rebound range||6 24|1 45
rebound turns||1 5|0.5 10
lockout range||2 4|2 8
play limit|mm|0.2 0.3|0.05 1
stanchion diameter|mm|30 40|25 45
stanchion wear limit|mm|0.02 0.05|0.01 0.15
lower-leg service hours|h|30 60|15 150
air-spring service hours|h|50 100|25 250
damper service hours|h|100 200|40 400
full service hours|h|100 200|40 400
lower-leg service months|months|6 24|2 36
rider weight|kg|45 120|20 160
lower-leg minutes|min|45 60|15 240
full minutes|min|120 150|10 300
bushing minutes|min|90 120|10 300
refit minutes|min|20 30|10 300`), "\n") {
		cell := strings.Split(line, "|")
		var low, high, askLow, askHigh float64
		if _, err := fmt.Sscan(cell[2]+" "+cell[3], &low, &high, &askLow, &askHigh); err != nil {
			t.Fatal(err)
		}
		k, ok := Find(cell[0])
		if !ok {
			t.Errorf("no key %q", cell[0])
			continue
		}
		f, unit := factor[cell[1]], quantity.Unit(cell[1])
		close := func(got, want float64) bool { return math.Abs(got-want) <= 1e-12*math.Abs(want) }
		if !close(k.UsualLow, low*f) || !close(k.UsualHigh, high*f) || !close(k.AskLow, askLow*f) || !close(k.AskHigh, askHigh*f) || k.Unit != unit {
			t.Errorf("%s: got %+v, want %s %s", cell[0], k, cell[1], cell[2:])
		}
		for _, inside := range []float64{low, high, askLow, askHigh} {
			if q := k.Question(inside*f, unit); q != "" {
				t.Errorf("%s: %g %s is asked back: %s", cell[0], inside, cell[1], q)
			}
		}
		if k.Question(askHigh*f*1.02, unit) == "" || askLow > 0 && k.Question(askLow*f*0.98, unit) == "" {
			t.Errorf("%s: a value outside %s is not asked back", cell[0], cell[3])
		}
	}
}

func TestQuestionSpeaksInTheUnitTyped(t *testing.T) {
	k, _ := Find("foot bolt")
	if got, want := plain(k.Question(30, quantity.NewtonMetre)), "Really 30 N·m? Foot bolt or nut lies between 3 N·m and 15 N·m nearly everywhere."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := plain(k.Question(30, quantity.PoundForceInch)), "Really 266 lbf·in? Foot bolt or nut lies between 27 lbf·in and 133 lbf·in nearly everywhere."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	sag, _ := Find("sag")
	if got, want := plain(sag.Question(0.5, Percent)), "Really 50 %? Sag, share of travel lies between 8 % and 35 % nearly everywhere."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestKeysAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range Keys {
		if seen[k.ID] {
			t.Errorf("key %q stands twice", k.ID)
		}
		seen[k.ID] = true
		if !k.HasUnit(k.Unit) {
			t.Errorf("key %q is not measured in %q", k.ID, k.Unit)
		}
		if k.AskLow > k.UsualLow || k.UsualLow > k.UsualHigh || k.UsualHigh > k.AskHigh {
			t.Errorf("key %q: its ranges do not lie within each other: %+v", k.ID, k)
		}
	}
}

// What the rider may leave when riding differently, the spec sheet gives as a
// starting point, not as a window: common practice (no source).
func TestTheRidersChoicesAreSettings(t *testing.T) {
	for id, choice := range map[string]bool{
		"rider pressure": true, "sag": true, "coil rate": true, "volume spacers": true,
		"rebound clicks": true, "compression clicks": true, "lockout positions": true, "preload turns": true,
		"maximum pressure": false, "foot bolt": false, "lower-leg oil": false, "rebound range": false, "travel": false,
	} {
		if k, ok := Find(id); !ok || k.Setting != choice {
			t.Errorf("%s: setting is %t, want %t", id, k.Setting, choice)
		}
	}
}
