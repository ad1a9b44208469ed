package simulate

import (
	"math"
	"math/rand/v2"
	"time"

	"damperdesk/internal/interval"
)

// Foretold is one forecast and what became of it, as days of the simulation; a
// day that never comes is 0.
type Foretold struct {
	Teller
	Made, Served      int
	Low, Median, High int
	Plain             int // six months after the service
	Met               int // the hours really were ridden
}

// RidersResult is what became of all forecasts.
type RidersResult struct {
	Riders, Years int
	Seed          uint64
	Foretold      []Foretold
	// Past were said to be over already, Nothing is known of the riding.
	Past, Nothing int
	Norm          interval.Norm // at the end
}

// RidersRun lets invented riders ride for some years, and has the shop foretell
// after each service, and whenever something is said, when the hours to the next
// one are ridden: by the same function that its list of what is due goes by. What
// riders have in common is fitted anew each month. Everything follows from the
// seed.
func RidersRun(seed uint64, riders, years int) RidersResult {
	result := RidersResult{Riders: riders, Years: years, Seed: seed}
	lives := make([]life, riders)
	for i := range lives {
		lives[i] = inventLife(rand.New(rand.NewPCG(seed, uint64(i))), years)
	}
	season := interval.SeasonOf("north")
	for month := range 12 * years {
		from, to := ridersMonth(month), ridersMonth(month+1)
		list := make([]interval.Rider, riders)
		for i := range lives {
			list[i] = lives[i].log(from, season).Rider()
		}
		result.Norm = interval.Fit(list, season)
		for i := range lives {
			for day := from; day < to; day++ {
				if lives[i].speaks(day) {
					result.foretell(&lives[i], day, season)
				}
			}
		}
	}
	return result
}

// ridersMonth is the first day of a month.
func ridersMonth(n int) int {
	return 1 + int(ridersBegin.AddDate(0, n, 0).Sub(ridersBegin).Hours()/24)
}

// log is what was said before a day.
func (l *life) log(before int, season interval.Season) interval.Log {
	n := 0
	for n < len(l.asked) && l.asked[n] < before {
		n++
	}
	return interval.NewLog(l.readings[:n], time.UTC, interval.Riding{Season: season, Factors: ridersFactors})
}

// speaks reports whether a day brings something new.
func (l *life) speaks(day int) bool {
	for _, days := range [][]int{l.asked, l.served} {
		for _, d := range days {
			if d == day {
				return true
			}
		}
	}
	return false
}

func (r *RidersResult) foretell(l *life, day int, season interval.Season) {
	served := 0
	for _, s := range l.served {
		if s <= day {
			served = s
		}
	}
	if served == 0 {
		return
	}
	left := ridersDate(served)
	o := interval.Rule{ServiceCode: "lower-leg", Hours: ridersLimit}.Outlook(interval.Facts{
		Served: &interval.Served{Ready: left, Left: left}, Log: l.log(day+1, season), Season: season, Norm: r.Norm})
	f := Foretold{Teller: l.teller, Made: day, Served: served, Plain: ridersDayOf(interval.AddMonths(left, 6)),
		Low: ridersDayOf(o.Low), Median: ridersDayOf(o.Median), High: ridersDayOf(o.High), Met: l.met(served)}
	switch {
	case o.Wants != interval.WantsNothing:
		r.Nothing++
	case f.Median > 0 && f.Median <= day:
		r.Past++
	default:
		r.Foretold = append(r.Foretold, f)
	}
}

func ridersDayOf(t time.Time) int {
	if t.IsZero() {
		return 0
	}
	return 1 + int(math.Round(t.Sub(ridersBegin).Hours()/24))
}
