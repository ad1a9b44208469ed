package interval

import (
	"math"
	"slices"
	"time"

	"damperdesk/internal/stat"
)

// Forecast is when so many hours are ridden: as likely before Median as after
// it, and four times in five from Low to High. Where it was counted all three
// are that day. A day further on than ten years is the zero time.
type Forecast struct{ Low, Median, High time.Time }

// band is how many times in a hundred a day falls into Low to High.
const band = 0.8

// riding is what is held of the riding of a unit since a day: counted up to
// another, then at a pace.
type riding struct {
	parts []Span // one after the other, without a gap
	from  time.Time
	pace  stat.Pace
	year  stat.Year
}

// since is the riding after a day. Days before the last count that nobody
// counted go by the habit of those days, else by the pace.
func (l Log) since(left time.Time, n Norm) riding {
	r := riding{from: left, pace: l.pace(n), year: n.Year}
	for _, s := range l.countedFrom(left).Spans() {
		if !s.To.After(left) {
			continue
		}
		if s.From.Before(left) {
			s.Hours *= float64(days(left, s.To)) / float64(days(s.From, s.To))
			s.From = left
		}
		if to := r.until(); to.Before(s.From) {
			r.parts = append(r.parts, l.uncounted(to, s.From, r))
		}
		r.parts = append(r.parts, s)
	}
	return r
}

// countedFrom takes hours that count from a day nobody knows for those since a
// service, which riders are asked for.
func (l Log) countedFrom(left time.Time) Log {
	l.counted = slices.Clone(l.counted)
	for i, c := range l.counted {
		if c.from.IsZero() && c.to.After(left) {
			l.counted[i].from = left
		}
	}
	return l
}

// uncounted are days that no span is of.
func (l Log) uncounted(from, to time.Time, r riding) Span {
	ridden := l.Ridden(from, to)
	gap := float64(ridden.Gap) / float64(days(from, to))
	rate := r.pace.Rides / r.pace.Weeks * r.pace.RideHours
	return Span{From: from, To: to, Hours: ridden.Hours + gap*rate*usual(r.year, from, to)}
}

// until is the last day that was counted, or the one it begins with.
func (r riding) until() time.Time {
	if len(r.parts) == 0 {
		return r.from
	}
	return r.parts[len(r.parts)-1].To
}

func (r riding) hours() float64 {
	sum := 0.0
	for _, p := range r.parts {
		sum += p.Hours
	}
	return sum
}

// met is the day on which so many hours were ridden by what was counted, as if
// each count had been ridden evenly.
func (r riding) met(level float64) (time.Time, bool) {
	before := 0.0
	for _, p := range r.parts {
		if before+p.Hours >= level {
			share := (level - before) / p.Hours
			return p.From.AddDate(0, 0, int(math.Ceil(share*float64(days(p.From, p.To))-1e-9))), true
		}
		before += p.Hours
	}
	return time.Time{}, false
}

// comesTo says when so many hours are ridden with each of the chances.
func (r riding) comesTo(level float64, chances ...float64) []time.Time {
	list := make([]time.Time, len(chances))
	if day, ok := r.met(level); ok {
		for i := range list {
			list[i] = day
		}
		return list
	}
	passage, err := r.pace.Passage(level - r.hours())
	if err != nil {
		return list
	}
	for i, q := range chances {
		list[i] = after(r.year, r.until(), passage.Quantile(q))
	}
	return list
}

// foretell is the forecast for so many hours. Where some of those behind it were
// guessed, Low and High allow for all guesses being too high or too low.
func (l Log) foretell(r riding, level float64, n Norm) Forecast {
	due := r.comesTo(level, (1-band)/2, 0.5, (1+band)/2)
	f := Forecast{due[0], due[1], due[2]}
	if _, met := r.met(level); met || !slices.ContainsFunc(l.counted, counted.guessed) {
		return f
	}
	var mixed stat.Mixture
	for _, g := range guesses {
		as := l.guessing(math.Exp(g.off*guessOff)).since(r.from, n)
		passage, err := as.pace.Passage(level - as.hours())
		if err != nil {
			return f
		}
		mixed = append(mixed, stat.Weighed{Passage: passage, Weight: g.weight})
	}
	day := func(q float64) time.Time { return after(r.year, r.until(), mixed.Quantile(q)) }
	if low := day((1 - band) / 2); sooner(low, f.Low) {
		f.Low = low
	}
	if high := day((1 + band) / 2); sooner(f.High, high) || high.IsZero() {
		f.High = high
	}
	return f
}

// guesses stand for a normal distribution, in standard deviations.
// Source: the Gauss-Hermite rule of three points.
var guesses = []struct{ off, weight float64 }{{-math.Sqrt(3), 1.0 / 6}, {0, 2.0 / 3}, {math.Sqrt(3), 1.0 / 6}}

// guessed reports whether nobody counted: the hours are what somebody thinks.
func (c counted) guessed() bool { return c.Kind == Stated && c.Source != byComputer }

// guessing is the log as if all that was guessed had been so many times as much.
func (l Log) guessing(times float64) Log {
	l.counted = slices.Clone(l.counted)
	for i := range l.counted {
		if l.counted[i].guessed() {
			l.counted[i].plain *= times
		}
	}
	return l
}
