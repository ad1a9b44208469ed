package quantity_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"damperdesk/internal/quantity"
)

var kinds = []quantity.Kind{
	quantity.KindTorque, quantity.KindVolume, quantity.KindPressure, quantity.KindTemperature,
	quantity.KindMass, quantity.KindLength, quantity.KindViscosity, quantity.KindSpringRate,
}

// drawUnit draws a kind and one of its units.
func drawUnit(t *rapid.T) (quantity.Kind, quantity.Unit) {
	kind := rapid.SampledFrom(kinds).Draw(t, "kind")
	return kind, rapid.SampledFrom(quantity.Units(kind)).Draw(t, "unit")
}

// drawSI draws a value the kind can have, from the very small up to what the
// bench never sees: ten thousand of the unit.
func drawSI(t *rapid.T, kind quantity.Kind, unit quantity.Unit, label string) float64 {
	number := rapid.Float64Range(0, 10_000).Draw(t, label)
	si, err := quantity.FromUnit(kind, number, unit)
	if err != nil {
		t.Fatalf("%g %s: %v", number, unit, err)
	}
	return si
}

// roundingStep is the largest step a unit prints to, in that unit.
func roundingStep(unit quantity.Unit) float64 {
	switch unit {
	case quantity.Millilitre:
		return 1
	case quantity.FluidOunce, quantity.ImperialFluidOunce, quantity.Inch:
		return 0.01
	case quantity.Stone:
		return 1.0 / 14
	}
	return quantity.Step(unit)
}

func TestPrintedValueReadsBackWithinItsStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind, unit := drawUnit(t)
		si := drawSI(t, kind, unit, "number")
		printed := quantity.Format(kind, si, unit)
		back, err := quantity.Parse(kind, printed, "")
		if err != nil {
			t.Fatalf("%q: %v", printed, err)
		}
		off := math.Abs(quantity.Convert(kind, back.SI, unit) - quantity.Convert(kind, si, unit))
		if back.Unit != unit || off > roundingStep(unit)/2+1e-9 {
			t.Fatalf("%g SI printed %q, read back as %g SI in %s: off by %g", si, printed, back.SI, back.Unit, off)
		}
		if again := quantity.Format(kind, back.SI, unit); again != printed {
			t.Fatalf("%q prints again as %q", printed, again)
		}
	})
}

func TestPrintedNumberReadsBackInItsField(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind, unit := drawUnit(t)
		number := quantity.FormatNumber(kind, drawSI(t, kind, unit, "number"), unit)
		back, err := quantity.Parse(kind, number, unit)
		if err != nil {
			t.Fatalf("%q in %s: %v", number, unit, err)
		}
		if again := quantity.FormatNumber(kind, back.SI, unit); again != number || back.Unit != unit {
			t.Fatalf("%q in %s prints again as %q in %s", number, unit, again, back.Unit)
		}
	})
}

// What is printed downwards is at most what there is, upwards at least, and
// neither is a step away. 5.28 bar are 76.58 psi (NIST SP 811).
func TestPrintingToOneSideStaysOnIt(t *testing.T) {
	down, up := quantity.FormatDown(quantity.KindPressure, 528000, quantity.PSI), quantity.FormatUp(quantity.KindPressure, 528000, quantity.PSI)
	if down != "76\u00a0psi" || up != "77\u00a0psi" {
		t.Errorf("5.28 bar print as %q and %q", down, up)
	}
	rapid.Check(t, func(t *rapid.T) {
		pa := rapid.Float64Range(0, 3e6).Draw(t, "pressure")
		for unit, step := range map[quantity.Unit]float64{quantity.PSI: 6894.757293168, quantity.Bar: 5000} {
			low, err := quantity.Parse(quantity.KindPressure, quantity.FormatDown(quantity.KindPressure, pa, unit), unit)
			high, err2 := quantity.Parse(quantity.KindPressure, quantity.FormatUp(quantity.KindPressure, pa, unit), unit)
			if err != nil || err2 != nil || low.SI > pa+1e-5 || high.SI < pa-1e-5 || high.SI-low.SI > step+1e-5 {
				t.Errorf("%v Pa in %s: %v and %v, %v, %v", pa, unit, low, high, err, err2)
			}
		}
	})
}

func TestPrintingKeepsOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind, unit := drawUnit(t)
		a, b := drawSI(t, kind, unit, "a"), drawSI(t, kind, unit, "b")
		if a > b {
			a, b = b, a
		}
		low, errLow := quantity.Parse(kind, quantity.Format(kind, a, unit), "")
		high, errHigh := quantity.Parse(kind, quantity.Format(kind, b, unit), "")
		if err := errors.Join(errLow, errHigh); err != nil {
			t.Fatal(err)
		}
		if low.SI > high.SI {
			t.Fatalf("%g <= %g SI, but %q prints above %q", a, b, low.Entered, high.Entered)
		}
	})
}

func TestConversionsAreInverseAndRising(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind, unit := drawUnit(t)
		other := rapid.SampledFrom(quantity.Units(kind)).Draw(t, "other")
		si := drawSI(t, kind, unit, "number")
		back, err := quantity.FromUnit(kind, quantity.Convert(kind, si, other), other)
		if err != nil {
			t.Fatal(err)
		}
		// A temperature passes through an offset of hundreds of degrees, which
		// costs it an absolute 1e-13 K or so, however cold it is.
		lost := 0.0
		if kind == quantity.KindTemperature {
			lost = 1e-12
		}
		if math.Abs(back-si) > 1e-12*si+lost {
			t.Fatalf("%.17g SI through %s comes back as %.17g", si, other, back)
		}
		more := si + math.Max(si, 1)*rapid.Float64Range(1e-9, 1).Draw(t, "more")
		if quantity.Convert(kind, more, unit) <= quantity.Convert(kind, si, unit) {
			t.Fatalf("%g SI is more than %g SI, but not in %s", more, si, unit)
		}
	})
}

func TestEveryUnitReadsItsOwnText(t *testing.T) {
	for _, kind := range kinds {
		if len(quantity.Units(kind)) == 0 {
			t.Errorf("%s has no unit", kind)
		}
		for _, unit := range quantity.Units(kind) {
			v, err := quantity.Parse(kind, "5 "+string(unit), "")
			if err != nil || v.Unit != unit || unit.Kind() != kind {
				t.Errorf("5 %s of %s read as %+v, %v", unit, kind, v, err)
			}
			if quantity.Step(unit) <= 0 {
				t.Errorf("%s has no step", unit)
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, file := range []string{"parse", "refuse"} {
		for _, row := range rows(f, file) {
			f.Add(row["text"], row["default"])
		}
	}
	for _, text := range []string{"", "-", "+", ",", "\xff", "1\x00", "1st 1st 1", "9\u200bNm", "-0 psi", "99999999999999 st 1", "1 \u212a"} {
		f.Add(text, "")
	}
	f.Fuzz(func(t *testing.T, text, def string) {
		for _, kind := range kinds {
			fuzzOne(t, kind, text, quantity.Unit(def))
		}
		checkMessage(t, text, second(quantity.ParseNumber(text)))
		checkMessage(t, text, second(quantity.ParseCount(text)))
	})
}

func fuzzOne(t *testing.T, kind quantity.Kind, text string, def quantity.Unit) {
	if def.Kind() != kind {
		def = ""
	}
	v, err := quantity.Parse(kind, text, def)
	if err != nil {
		checkMessage(t, text, err)
		return
	}
	if math.IsNaN(v.SI) || math.IsInf(v.SI, 0) || v.SI < 0 || math.Signbit(v.SI) {
		t.Fatalf("%q as %s = %g SI", text, kind, v.SI)
	}
	again, err := quantity.Parse(kind, v.Entered, v.Unit)
	if err != nil || again != v {
		t.Fatalf("%q as %s = %+v, but what is kept reads as %+v, %v", text, kind, v, again, err)
	}
	if quantity.Convert(kind, v.SI, v.Unit) > 1e9 {
		return // more digits than a field takes
	}
	printed := quantity.Format(kind, v.SI, v.Unit)
	if _, err := quantity.Parse(kind, printed, ""); err != nil {
		t.Fatalf("%q as %s prints %q, refused: %v", text, kind, printed, err)
	}
}

// checkMessage holds a refusal to what a page can show: one printable sentence
// of a reasonable length that ends in a full stop.
func checkMessage(t *testing.T, text string, err error) {
	if err == nil {
		return
	}
	var refused *quantity.ParseError
	if !errors.As(err, &refused) {
		t.Fatalf("%q: %v is not a ParseError", text, err)
	}
	message := refused.Error()
	if !utf8.ValidString(message) || strings.ContainsAny(message, "\x00\n\r\t") ||
		!strings.HasSuffix(message, ".") || utf8.RuneCountInString(message) > 240 {
		t.Fatalf("%q is refused with %q", text, message)
	}
}

func second[T any](_ T, err error) error { return err }
