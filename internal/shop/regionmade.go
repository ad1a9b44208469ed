package shop

import (
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/aa"
	"github.com/rickar/cal/v2/gb"
	"github.com/rickar/cal/v2/se"
)

// finland is what is a public holiday by law. Midsummer Eve and Christmas Eve are
// none: a shop that closes on them has closures.
var finland = []*cal.Holiday{
	aa.NewYear, aa.Epiphany, aa.GoodFriday, aa.Easter, aa.EasterMonday,
	aa.WorkersDay.Clone(&cal.Holiday{Name: "May Day"}), aa.AscensionDay, aa.Pentecost,
	se.Midsommardagen.Clone(&cal.Holiday{Name: "Midsummer Day"}),
	se.AllaHelgonsDag.Clone(&cal.Holiday{Name: "All Saints’ Day"}),
	{Name: "Independence Day", Month: time.December, Day: 6, Func: cal.CalcDayOfMonth},
	aa.ChristmasDay, aa.ChristmasDay2,
}

// scotland is the bank holidays of all of it. Those of single towns, and of
// single years, are closures.
var scotland = []*cal.Holiday{
	gb.NewYear,
	// The day in lieu comes after that of New Year's Day.
	{Name: "2 January", Month: time.January, Day: 2, Func: cal.CalcDayOfMonth, Observed: gb.BoxingDay.Observed},
	gb.GoodFriday, gb.EarlyMay, gb.SpringHoliday, gb.SummerHolidayScotland,
	{Name: "St Andrew’s Day", Month: time.November, Day: 30, Func: cal.CalcDayOfMonth, Observed: gb.NewYear.Observed},
	gb.ChristmasDay, gb.BoxingDay,
}
