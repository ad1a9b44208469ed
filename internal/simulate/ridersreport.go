package simulate

import (
	"fmt"
	"io"
	"math"

	"damperdesk/internal/stat"
)

// RidersFigures are what forecasts came to.
type RidersFigures struct {
	N                   int
	Early, Held, Late   float64 // shares of what was met before Low, from Low to High, after High
	Off, PlainOff       float64 // days, medians of how far Median and the plain rule were off
	Wide                float64 // days from Low to High, the median
	Before, PlainBefore float64 // shares of what was met before the day that was named
}

// Figures are those of the forecasts made for one kind of teller, or for all
// where it is empty. What is met in more than ten years is as far off as ten.
func (r RidersResult) Figures(of Teller) (f RidersFigures) {
	never := ridersDay(r.Years + ridersAhead)
	day := func(d int) float64 {
		if d == 0 || d > never {
			return float64(never)
		}
		return float64(d)
	}
	var off, plain, wide []float64
	for _, t := range r.Foretold {
		if of != "" && t.Teller != of {
			continue
		}
		low, median, high, met := day(t.Low), day(t.Median), day(t.High), day(t.Met)
		f.N++
		f.Early += share(met < low)
		f.Late += share(met > high)
		f.Before += share(met < median)
		f.PlainBefore += share(met < float64(t.Plain))
		off, plain, wide = append(off, math.Abs(met-median)), append(plain, math.Abs(met-float64(t.Plain))), append(wide, high-low)
	}
	if f.N == 0 {
		return f
	}
	for _, s := range []*float64{&f.Early, &f.Late, &f.Before, &f.PlainBefore} {
		*s /= float64(f.N)
	}
	f.Held = 1 - f.Early - f.Late
	f.Off, f.PlainOff, f.Wide = middle(off), middle(plain), middle(wide)
	return f
}

func share(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

func middle(x []float64) float64 {
	m, _ := stat.Quantile(x, 0.5) // there are some, and all are finite
	return m
}

// Print writes it for people.
func (r RidersResult) Print(w io.Writer) {
	fmt.Fprintf(w, "%d riders over %d years, seed %d: after each service and whenever something is said, the day on which %d h are ridden\n", r.Riders, r.Years, r.Seed, ridersLimit)
	fmt.Fprintf(w, "  %-23s %9s %21s %7s %6s %10s %14s %26s\n", "", "forecasts", "met within the 80 %", "before", "after", "days wide", "off, days", "six months are off, days")
	for _, of := range append([]Teller{""}, Tellers...) {
		f, name := r.Figures(of), string(of)
		if f.N == 0 {
			continue
		}
		if of == "" {
			name = "all"
		}
		fmt.Fprintf(w, "  %-23s %9d %19.1f %% %5.1f %% %4.1f %% %10.0f %14.0f %26.0f\n", name, f.N, 100*f.Held, 100*f.Early, 100*f.Late, f.Wide, f.Off, f.PlainOff)
	}
	f := r.Figures("")
	fmt.Fprintf(w, "  met before the day that is named: %.0f %%, before six months: %.0f %%; said to be over already: %d, nothing known: %d\n", 100*f.Before, 100*f.PlainBefore, r.Past, r.Nothing)
	fmt.Fprintf(w, "  fitted at the end to %d riders and %d spans: %.2f rides in a usual week, shape %.2f\n", r.Norm.Riders, r.Norm.Spans, r.Norm.Pace.Rides/r.Norm.Pace.Weeks, r.Norm.Pace.Rides)
}
