package bench

import (
	"math"
	"strconv"

	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// Window is where a value should lie, in SI units; a count is its own number.
// With Minus and Plus zero only the nominal value, as printed, is inside.
type Window struct{ Nominal, Minus, Plus float64 }

// mostRounding is how far, as a share of the nominal value, a limit may be
// stretched by printing it. A coarse unit on a small value gets no more.
const mostRounding = 0.01

// Holds reports whether si lies in the window. The limits also count as they
// are printed in unit, because those are the numbers a person works to: 6.8 to
// 7.8 N·m reads 60 to 69 on a wrench in lbf·in, and 60 lbf·in is 6.78 N·m.
func (w Window) Holds(kind quantity.Kind, si float64, unit quantity.Unit) bool {
	low, high := w.Nominal-w.Minus, w.Nominal+w.Plus
	most := mostRounding * math.Abs(w.Nominal)
	noise := 1e-9 * math.Abs(w.Nominal)
	low = max(min(low, asPrinted(kind, low, unit)), low-most) - noise
	high = min(max(high, asPrinted(kind, high, unit)), high+most) + noise
	return low <= si && si <= high
}

// asPrinted is si rounded to what the unit shows.
func asPrinted(kind quantity.Kind, si float64, unit quantity.Unit) float64 {
	number, err := strconv.ParseFloat(quantity.FormatNumber(kind, si, unit), 64)
	if err != nil {
		return si
	}
	rounded, err := quantity.FromUnit(kind, number, unit)
	if err != nil {
		return si
	}
	return rounded
}

// Text says the window in unit, as in "6.8 to 7.8 N·m", or the one value.
func (w Window) Text(kind quantity.Kind, unit quantity.Unit) string {
	low := spec.ShowNumber(kind, w.Nominal-w.Minus, unit)
	high := spec.Show(kind, w.Nominal+w.Plus, unit)
	if w.Minus == 0 && w.Plus == 0 {
		return high
	}
	return low + " to " + high
}
