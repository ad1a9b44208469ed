package money

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

var (
	percent  = regexp.MustCompile(`^([0-9]{1,3})(?:[.,]([0-9]{1,2}))? ?%?$`)
	counting = regexp.MustCompile(`^([0-9]{1,5})(?:[.,]([0-9]{1,3}))?$`)
)

// ParseRate reads a rate from 0 to 100 % in basis points as typed: "20",
// "17.5 %", "8,1". What was typed wrong is a *ParseError.
func ParseRate(text string) (bp int, err error) {
	m := percent.FindStringSubmatch(tidy(text))
	if m == nil {
		return 0, refuse("That is not a rate: type per cent with at most two decimals, such as 20 or 17.5.")
	}
	if bp = int(scaled(m[1], m[2], 2)); bp > basis {
		return 0, refuse("A rate is at most 100 per cent.")
	}
	return bp, nil
}

// FormatRate prints basis points as "17.5 %".
func FormatRate(bp int) string { return unscaled(int64(bp), 2) + "\u00a0%" }

// ParseTimes reads how many there are of something, in thousandths: "1",
// "0.5", "2,5". What was typed wrong is a *ParseError.
func ParseTimes(text string) (thousandths int64, err error) {
	m := counting.FindStringSubmatch(tidy(text))
	if m == nil {
		return 0, refuse("That is not a quantity: type a number under 100000 with at most three decimals, such as 1 or 0.5.")
	}
	if thousandths = scaled(m[1], m[2], 3); thousandths == 0 {
		return 0, refuse("None is no line: type a number above zero.")
	}
	return thousandths, nil
}

// FormatTimes prints thousandths as "2.5".
func FormatTimes(thousandths int64) string { return unscaled(thousandths, 3) }

// scaled reads digits before and after the point as a whole number of the last
// of so many places; there are no more than fit.
func scaled(before, after string, places int) int64 {
	n, _ := strconv.ParseInt(before+after+strings.Repeat("0", places-len(after)), 10, 64)
	return n
}

func unscaled(n int64, places int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	digits := fmt.Sprintf("%0*d", places+1, n)
	at := len(digits) - places
	return sign + strings.TrimSuffix(strings.TrimRight(digits[:at]+"."+digits[at:], "0"), ".")
}
