package interval

import (
	"math"
	"time"

	"damperdesk/internal/stat"
)

// offSeason is how much is ridden on a day outside the season, of a day in it.
// Common practice (no source), and thin: who rides twice a week then goes out
// twice a month in winter.
const offSeason = 0.25

// year is that of a shop of which nothing was counted.
func (s Season) year() stat.Year {
	var y stat.Year
	var of [12]float64
	for day := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC); day.Year() == 2025; day = day.AddDate(0, 0, 1) {
		m := day.Month() - 1
		of[m]++
		if s.Holds(day) {
			y[m]++
		} else {
			y[m] += offSeason
		}
	}
	for m := range y {
		y[m] /= of[m]
	}
	y, _ = y.Normal() // every month has some
	return y
}

// usual is how many usual weeks there are from the end of one day to the end of
// another.
func usual(y stat.Year, from, to time.Time) float64 {
	return y.Weeks(from.AddDate(0, 0, 1), float64(days(from, to)))
}

// foresight is how far on a day is named at all, in days: ten years.
const foresight = 3652

// after is the day by whose end so many usual weeks have passed since the end of
// another; the zero time where that is beyond foresight.
func after(y stat.Year, from time.Time, weeks float64) time.Time {
	n := math.Ceil(y.Days(from.AddDate(0, 0, 1), weeks) - 1e-9)
	if !(n <= foresight) {
		return time.Time{}
	}
	return from.AddDate(0, 0, int(n))
}
