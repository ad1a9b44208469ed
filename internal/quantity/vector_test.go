package quantity_test

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"damperdesk/internal/quantity"
	"damperdesk/internal/vector"
)

// TestVectors runs every row of testdata/quantity. In a cell, \u00a0 and its
// like stand for the character, so that spaces can be told apart.
func TestVectors(t *testing.T) {
	for file, check := range map[string]func(*testing.T, map[string]string){
		"factors": checkFactor,
		"parse":   checkParse,
		"format":  checkFormat,
		"refuse":  checkRefuse,
	} {
		t.Run(file, func(t *testing.T) {
			for i, row := range rows(t, file) {
				t.Run(strconv.Itoa(i+2), func(t *testing.T) {
					check(t, row)
				})
			}
		})
	}
}

var escape = regexp.MustCompile(`\\u[0-9a-f]{4}`)

func rows(t testing.TB, file string) []vector.Row {
	t.Helper()
	all := vector.Rows(t, "quantity", file)
	for _, row := range all {
		for name, cell := range row {
			row[name] = escape.ReplaceAllStringFunc(cell, func(e string) string {
				code, _ := strconv.ParseUint(e[2:], 16, 32)
				return string(rune(code))
			})
		}
	}
	return all
}

func float(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func near(got, want, rel float64) bool {
	return math.Abs(got-want) <= rel*math.Abs(want)
}

func checkFactor(t *testing.T, row map[string]string) {
	kind := quantity.Kind(row["kind"])
	si, err := quantity.FromUnit(kind, float(t, row["number"]), quantity.Unit(row["unit"]))
	if err != nil {
		t.Fatal(err)
	}
	got, want := quantity.Convert(kind, si, quantity.Unit(row["want_unit"])), float(t, row["want"])
	how, size, _ := strings.Cut(row["tolerance"], " ")
	tolerance := float(t, size)
	switch how {
	case "rel":
		tolerance *= math.Abs(want)
	case "abs":
	default:
		t.Fatalf("tolerance %q is neither rel nor abs", row["tolerance"])
	}
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s %s = %.15g %s, want %.15g (%s)", row["number"], row["unit"], got, row["want_unit"], want, row["tolerance"])
	}
}

// read parses text as a field of the kind; "number" and "count" are the fields
// without a unit.
func read(kind, text, def string) (quantity.Value, error) {
	switch kind {
	case "number":
		x, err := quantity.ParseNumber(text)
		return quantity.Value{SI: x}, err
	case "count":
		n, err := quantity.ParseCount(text)
		return quantity.Value{SI: float64(n)}, err
	}
	return quantity.Parse(quantity.Kind(kind), text, quantity.Unit(def))
}

func checkParse(t *testing.T, row map[string]string) {
	got, err := read(row["kind"], row["text"], row["default"])
	if err != nil {
		t.Fatalf("%q as %s: %v", row["text"], row["kind"], err)
	}
	if want := float(t, row["si"]); !near(got.SI, want, 1e-12) || got.Unit != quantity.Unit(row["unit"]) {
		t.Errorf("%q as %s = %.15g SI in %q, want %.15g in %q", row["text"], row["kind"], got.SI, got.Unit, want, row["unit"])
	}
}

func checkRefuse(t *testing.T, row map[string]string) {
	got, err := read(row["kind"], row["text"], row["default"])
	var refused *quantity.ParseError
	if !errors.As(err, &refused) {
		t.Fatalf("%q as %s = %+v, %v; want a ParseError", row["text"], row["kind"], got, err)
	}
	if !strings.Contains(refused.Error(), row["says"]) {
		t.Errorf("%q as %s says %q, want %q", row["text"], row["kind"], refused.Error(), row["says"])
	}
	if want := strings.ReplaceAll(strings.TrimSpace(row["text"]), "−", "-"); refused.Text != want {
		t.Errorf("%q as %s keeps the text %q, want %q", row["text"], row["kind"], refused.Text, want)
	}
}

func checkFormat(t *testing.T, row map[string]string) {
	kind, si, unit := quantity.Kind(row["kind"]), float(t, row["si"]), quantity.Unit(row["unit"])
	got := quantity.Format(kind, si, unit)
	if row["step"] != "" {
		got = quantity.FormatStep(kind, si, unit, float(t, row["step"]))
	}
	if got != row["want"] {
		t.Errorf("%g SI in %s prints %q, want %q", si, unit, got, row["want"])
	}
	if got := quantity.FormatNumber(kind, si, unit); got != row["number"] {
		t.Errorf("%g SI in %s prints the number %q, want %q", si, unit, got, row["number"])
	}
}

// The increments a hand can set, from the shop's rule of showing no more than
// the tool does: common practice (no source).
func TestStepIsWhatTheToolCanSet(t *testing.T) {
	for unit, want := range map[quantity.Unit]float64{
		quantity.NewtonMetre: 0.1, quantity.PoundForceInch: 1, quantity.PoundForceFoot: 0.5,
		quantity.Millilitre: 0.5, quantity.PSI: 1, quantity.Bar: 0.05, quantity.Kilopascal: 1,
		quantity.Kilogram: 0.1, quantity.Pound: 1, quantity.Millimetre: 1, quantity.Celsius: 0.5,
		quantity.SquareMillimetrePerSecond: 0.1, quantity.NewtonPerMillimetre: 0.1,
		quantity.PoundForcePerInch: 1, "furlong": 0,
	} {
		if got := quantity.Step(unit); got != want {
			t.Errorf("Step(%s) = %g, want %g", unit, got, want)
		}
	}
}

func TestUnitOfAnotherKindIsNotThePersonsMistake(t *testing.T) {
	_, byDefault := quantity.Parse(quantity.KindTorque, "7.3", quantity.PSI)
	_, byKind := quantity.Parse("colour", "7.3", "")
	_, byUnit := quantity.FromUnit(quantity.KindTorque, 7.3, quantity.PSI)
	_, byType := quantity.As[quantity.Torque](quantity.Value{SI: 1, Unit: quantity.PSI})
	_, byOf := quantity.Of[quantity.Torque](7.3, quantity.PSI)
	for name, err := range map[string]error{"default": byDefault, "kind": byKind, "unit": byUnit, "type": byType, "of": byOf} {
		var refused *quantity.ParseError
		if err == nil || errors.As(err, &refused) {
			t.Errorf("%s: got %v, want an error that is not a ParseError", name, err)
		}
	}
	if got := quantity.Convert(quantity.KindTorque, 7.3, quantity.PSI); !math.IsNaN(got) {
		t.Errorf("7.3 N·m in psi = %g, want NaN", got)
	}
}

func TestFromUnitRefusesWhatAKindCannotHave(t *testing.T) {
	for _, number := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1} {
		_, err := quantity.FromUnit(quantity.KindMass, number, quantity.Kilogram)
		var refused *quantity.ParseError
		if !errors.As(err, &refused) {
			t.Errorf("%g kg: got %v, want a ParseError", number, err)
		}
	}
}

func TestTypedQuantities(t *testing.T) {
	v, err := quantity.Parse(quantity.KindTorque, " 65 in-lb ", "")
	if err != nil {
		t.Fatal(err)
	}
	if v.Entered != "65 in-lb" {
		t.Errorf("Entered = %q, want the text without its outer spaces", v.Entered)
	}
	torque, err := quantity.As[quantity.Torque](v)
	if err != nil {
		t.Fatal(err)
	}
	if got := quantity.In(torque, quantity.PoundForceInch); !near(got, 65, 1e-12) {
		t.Errorf("65 lbf·in comes back as %.15g", got)
	}
	// The sizes of SI units: one of each kind's first unit.
	for name, got := range map[string][2]float64{
		"torque":      {one[quantity.Torque](t), 1},
		"volume":      {one[quantity.Volume](t), 1e-6},
		"pressure":    {one[quantity.Pressure](t), 6894.757293168361},
		"temperature": {one[quantity.Temperature](t), 274.15},
		"mass":        {one[quantity.Mass](t), 1},
		"length":      {one[quantity.Length](t), 1e-3},
		"viscosity":   {one[quantity.Viscosity](t), 1e-6},
		"spring_rate": {one[quantity.SpringRate](t), 1e3},
	} {
		if !near(got[0], got[1], 1e-12) {
			t.Errorf("one first unit of %s = %.15g SI, want %.15g", name, got[0], got[1])
		}
	}
}

func one[Q quantity.Quantity](t *testing.T) float64 {
	t.Helper()
	var zero Q
	q, err := quantity.Of[Q](1, quantity.Units(zero.Kind())[0])
	if err != nil {
		t.Fatal(fmt.Errorf("one %s: %w", zero.Kind(), err))
	}
	return float64(q)
}

// No two steps of a scale print alike, whatever the size of the number.
func TestStepsPrintApart(t *testing.T) {
	for _, kind := range []quantity.Kind{quantity.KindTorque, quantity.KindVolume, quantity.KindPressure, quantity.KindLength, quantity.KindViscosity, quantity.KindSpringRate} {
		for _, unit := range quantity.Units(kind) {
			for _, number := range []float64{0.03, 0.3, 2, 7.5, 99, 100, 150, 350} {
				step := quantity.StepAt(unit, number)
				si, err := quantity.FromUnit(kind, number, unit)
				more, err2 := quantity.FromUnit(kind, number+step, unit)
				if err != nil || err2 != nil {
					t.Fatal(kind, unit, err, err2)
				}
				if one, next := quantity.FormatNumber(kind, si, unit), quantity.FormatNumber(kind, more, unit); one == next {
					t.Errorf("%g %s and a step of %g more both print %s", number, unit, step, one)
				}
			}
		}
	}
	if got := quantity.StepAt("furlong", 5); got != 0 {
		t.Errorf("StepAt(furlong) = %g, want 0", got)
	}
}
