package spec

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"testing"

	"damperdesk/internal/quantity"
)

// plain undoes the spaces that hold a number and its unit together.
func plain(text string) string { return strings.ReplaceAll(text, "\u00a0", " ") }

// registry is the trade's table of what a spec sheet states, row by row: common
// practice (no source). It is typed here in the trade's units, apart from the
// table under test. Keys of one row stand apart by commas; "-" is the whole unit.
const registry = `
foot bolt|N·m|5 10|3 15|foot
air top cap|N·m|20 30|8 45|top spring
top cap|N·m|3 8|1 15|top spring
damper cap|N·m|20 30|8 45|top damper
damper seal head|N·m|8 25|3 40|stanchion damper
shaft fastener|N·m|3 8|1 12|stanchion damper
crown pinch|N·m|5 10|4 15|crown
stem|N·m|4 7|3 10|steerer
axle|N·m|9 15|5 20|axle
axle pinch|N·m|3 6|2 10|axle
brake caliper|N·m|6 10|5 12|lower
knob screw|N·m|0.5 1.5|0.2 3|knob
bleed screw|N·m|0.5 2|0.3 4|top damper
lower-leg oil|mL|5 20|2 60|foot
shared oil|mL|100 200|60 350|top damper
oil height|mm|60 130|30 200|top damper
damper fill|mL|60 200|30 350|top damper
air-side oil|mL|1 5|0 15|top spring
damper fluid|mm²/s|7 17|3 40|-
lower-leg viscosity|mm²/s|20 100|10 250|-
rider pressure|psi|45 120|25 220|-
maximum pressure|psi|120 220|80 320|-
minimum pressure,leak test pressure|psi|20 45|0 80|-
damper gas|psi|100 250|30 450|-
air lost overnight|psi|0 3|0 10|-
volume spacers||0 5|0 10|-
coil rate|N/mm|4 10|2.5 15|-
travel|mm|80 200|40 230|-
sag|%|10 30|8 35|-
rebound clicks,compression clicks,rebound range,compression range||6 24|1 45|-
preload turns,rebound setting turns,compression setting turns,rebound turns,compression turns||1 5|0.5 10|-
lockout range,compression position range||2 4|2 8|-
lockout positions,compression positions||0 3|0 7|-
play limit|mm|0.2 0.3|0.05 1|-
stanchion diameter|mm|30 40|25 45|-
stanchion wear limit|mm|0.02 0.05|0.01 0.15|-
lower-leg service hours|h|30 60|15 150|-
air-spring service hours|h|50 100|25 250|-
damper service hours,full service hours|h|100 200|40 400|-
lower-leg service months,air-spring service months,damper service months,full service months|months|6 24|2 36|-
rider weight|kg|45 120|20 160|-
lower-leg minutes|min|45 60|15 240|-
air-spring minutes|min|30 45|15 240|-
damper minutes|min|45 75|15 240|-
full minutes|min|120 150|10 300|-
bushing minutes|min|90 120|10 300|-
refit minutes|min|20 30|10 300|-
floating piston depth|mm|10 60|2 120|top damper
cartridge from the top||0 1|0 1|-
air can|N·m|5 20|1 45|-
shock bolt|N·m|8 20|4 45|-`

// The leak test is done at a low charge, as the minimum is; of n positions the
// last is n less one away from closed. Units become SI by the factors of NIST SP
// 811, appendix B.8.
func TestTheRegistryIsTheTradesTableRowByRow(t *testing.T) {
	factor := map[string]float64{"N·m": 1, "mL": 1e-6, "mm": 1e-3, "mm²/s": 1e-6, "psi": 6894.757293168361,
		"N/mm": 1000, "kg": 1, "%": 0.01, "": 1, "h": 1, "months": 1, "min": 1}
	rows := 0
	for _, line := range strings.Split(strings.TrimSpace(registry), "\n") {
		cell := strings.Split(line, "|")
		var low, high, askLow, askHigh float64
		if _, err := fmt.Sscan(cell[2]+" "+cell[3], &low, &high, &askLow, &askHigh); err != nil {
			t.Fatal(err)
		}
		f, unit := factor[cell[1]], quantity.Unit(cell[1])
		for _, id := range strings.Split(cell[0], ",") {
			rows++
			k, ok := Find(id)
			if !ok {
				t.Errorf("no key %q", id)
				continue
			}
			if place := strings.TrimSpace(cmp.Or(k.At, "-") + " " + k.Leg); place != cell[4] {
				t.Errorf("%s is at %q, want %q", id, place, cell[4])
			}
			close := func(got, want float64) bool { return math.Abs(got-want) <= 1e-12*math.Abs(want) }
			if !close(k.UsualLow, low*f) || !close(k.UsualHigh, high*f) || !close(k.AskLow, askLow*f) || !close(k.AskHigh, askHigh*f) || k.Unit != unit {
				t.Errorf("%s: got %+v, want %s %s", id, k, cell[1], cell[2:])
			}
			for _, inside := range []float64{low, high, askLow, askHigh} {
				if q := k.Question(inside*f, unit); q != "" {
					t.Errorf("%s: %g %s is asked back: %s", id, inside, cell[1], q)
				}
			}
			if k.Question(askHigh*f*1.02, unit) == "" || askLow > 0 && k.Question(askLow*f*0.98, unit) == "" {
				t.Errorf("%s: a value outside %s is not asked back", id, cell[3])
			}
		}
	}
	if rows != len(Keys) {
		t.Errorf("the table has %d keys, the registry %d", rows, len(Keys))
	}
}

// A shared-oil leg holds the damper's oil: common practice (no source).
func TestTheBathFollowsTheDamper(t *testing.T) {
	m := Model{Kind: "fork", Spring: "air", SpringLeg: "left", DamperLeg: "right"}
	for _, c := range []struct {
		damper, leg, place string
		ml                 float64
		asked              bool
	}{
		{"cartridge", "right", "foot-right", 10, false}, {"cartridge", "right", "foot-right", 150, true},
		{"sealed", "right", "foot-right", 150, true},
		{"shared oil", "right", "foot-left", 10, false}, {"shared oil", "right", "foot-left", 150, true},
		{"shared oil", "right", "foot-right", 10, true}, {"shared oil", "right", "foot-right", 150, false},
		{"shared oil", "", "foot-right", 10, false}, {"shared oil", "", "foot-right", 150, false}, {"shared oil", "", "foot-right", 400, true},
	} {
		m.Damper, m.DamperLeg = c.damper, c.leg
		v := Value{Key: "lower-leg oil", Place: c.place, NominalSI: c.ml * 1e-6, ShownUnit: quantity.Millilitre, SourceKind: FromMeasuring}
		if _, asked := v.faults(m, nil)["sure"]; asked != c.asked {
			t.Errorf("%g mL at %s with a %s damper on the %q: asked back %t, want %t", c.ml, c.place, c.damper, c.leg, asked, c.asked)
		}
	}
}

func TestAnAdjusterIsCountedInTheFormOfItsSheet(t *testing.T) {
	for _, c := range []struct {
		stated []string
		key    string
		want   string
	}{
		{nil, "rebound clicks", "rebound clicks"},
		{[]string{"rebound clicks"}, "rebound clicks", "rebound clicks"},
		{[]string{"rebound setting turns"}, "rebound clicks", "rebound setting turns"},
		{[]string{"rebound turns"}, "rebound clicks", "rebound setting turns"},
		{[]string{"rebound turns"}, "rebound range", "rebound turns"},
		{[]string{"compression position range"}, "compression clicks", "compression positions"},
		{[]string{"compression turns"}, "rebound clicks", "rebound clicks"},
		{[]string{"rebound range", "rebound setting turns"}, "rebound range", "rebound range"},
		{[]string{"rebound turns"}, "foot bolt", "foot bolt"},
	} {
		var sheet Sheet
		for _, id := range c.stated {
			sheet.Values = append(sheet.Values, Value{Key: id})
		}
		k, _ := Find(c.key)
		if got := k.InForm(sheet).ID; got != c.want {
			t.Errorf("%s on a sheet with %q is %s, want %s", c.key, c.stated, got, c.want)
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
