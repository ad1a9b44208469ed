package stock

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"damperdesk/internal/money"
	"damperdesk/internal/quantity"
)

// Measure is what amounts of an item are counted in. An amount is a whole number
// of its smallest unit, so that sums are exact.
type Measure string

// The measures, with their smallest units.
const (
	Each   Measure = "each"   // pieces
	Volume Measure = "volume" // microlitres
	Mass   Measure = "mass"   // milligrams
)

// Measures in the order they are offered.
var Measures = []Measure{Each, Volume, Mass}

// mostAmount bounds one amount: a million litres or pieces.
const mostAmount = 1_000_000_000_000

// Priced is the amount that prices are given for: a piece, a litre, a kilogram.
func (m Measure) Priced() int64 {
	if m == Each {
		return 1
	}
	return 1_000_000
}

// PricedWord names that amount.
func (m Measure) PricedWord() string {
	return map[Measure]string{Each: "piece", Volume: "litre", Mass: "kilogram"}[m]
}

// Worth is what an amount comes to at a price for the priced amount, rounded half
// up away from zero.
func (m Measure) Worth(price, amount int64) int64 { return money.Part(price, amount, m.Priced()) }

// Parse reads an amount above zero as typed: "12", "1.5 L", "20 mL", "4 fl oz",
// "500 g". Without a unit it is pieces, millilitres or grams. Errors are sentences
// fit to stand beside the field.
func (m Measure) Parse(text string) (int64, error) {
	amount, err := m.ParseZero(text)
	if err == nil && amount == 0 {
		err = &quantity.ParseError{Message: "Give an amount above zero, such as " + m.example() + "."}
	}
	return amount, err
}

// ParseZero is Parse where nothing at all is an answer too.
func (m Measure) ParseZero(text string) (int64, error) {
	if m == Each {
		n, err := quantity.ParseCount(text)
		return int64(n), err
	}
	kind, unit, small := quantity.KindVolume, quantity.Millilitre, 1e9 // µL in a cubic metre
	if m == Mass {
		kind, unit, small = quantity.KindMass, quantity.Gram, 1e6 // mg in a kilogram
	}
	v, err := quantity.Parse(kind, text, unit)
	if err != nil {
		return 0, err
	}
	amount := math.Round(v.SI * small)
	if amount > mostAmount {
		return 0, &quantity.ParseError{Message: "That is too large: give an amount such as " + m.example() + "."}
	}
	return int64(amount), nil
}

func (m Measure) example() string {
	return map[Measure]string{Each: "12", Volume: "250 mL", Mass: "500 g"}[m]
}

// Format prints an amount with its unit and nothing rounded: "3 pieces", "1 piece",
// "−20 mL", "1.25 L", "0.5 g".
func (m Measure) Format(amount int64) string {
	if m == Each {
		if amount == 1 || amount == -1 {
			return minus(strconv.FormatInt(amount, 10)) + "\u00a0piece"
		}
		return minus(strconv.FormatInt(amount, 10)) + "\u00a0pieces"
	}
	small, large := "mL", "L"
	if m == Mass {
		small, large = "g", "kg"
	}
	if amount >= 1_000_000 || amount <= -1_000_000 {
		return minus(places(amount, 6)) + "\u00a0" + large
	}
	return minus(places(amount, 3)) + "\u00a0" + small
}

// Field is Format for a form field, which Parse reads back as it was.
func (m Measure) Field(amount int64) string {
	if m == Each {
		return strconv.FormatInt(amount, 10)
	}
	return strings.NewReplacer("\u00a0", " ", "−", "-").Replace(m.Format(amount))
}

func minus(s string) string { return strings.Replace(s, "-", "−", 1) }

// places prints n thousandths or millionths without trailing zeros.
func places(n int64, digits int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	whole := int64(math.Pow10(digits))
	s := fmt.Sprintf("%s%d.%0*d", sign, n/whole, digits, n%whole)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
