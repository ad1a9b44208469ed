package customer

import (
	"cmp"
	"strings"
)

// DayForm is how days are written in one order, as layouts of package time: a short
// day, a long one, a date; each as it is in this year, and with its year.
type DayForm struct{ Short, ShortYear, Long, LongYear, Date, DateYear string }

var dayForms = map[string]DayForm{
	"day month":      {"Mon 2 Jan", "Mon 2 Jan 2006", "Monday 2 January", "Monday 2 January 2006", "2 January", "2 January 2006"},
	"month day":      {"Mon, Jan 2", "Mon, Jan 2, 2006", "Monday, January 2", "Monday, January 2, 2006", "January 2", "January 2, 2006"},
	"year month day": {"Mon 2006-01-02", "Mon 2006-01-02", "Monday 2006-01-02", "Monday 2006-01-02", "2006-01-02", "2006-01-02"},
}

// DaysIn is the form of an order of DayOrders; of the first where none is named.
func DaysIn(order string) DayForm { return dayForms[cmp.Or(order, DayOrders[0])] }

var swapped = strings.NewReplacer(",", ".", ".", ",")

// WithComma writes the marks within a number that was printed with a decimal point as
// they are where decimals begin with a comma.
func WithComma(printed string) string { return swapped.Replace(printed) }
