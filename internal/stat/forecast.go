package stat

import (
	"fmt"
	"slices"
)

// Model is a way to foretell what is asked for in the weeks to come.
type Model string

const (
	ByYear    Model = "year"    // the same week a year before: seasonal-naive
	ByAround  Model = "around"  // the mean of the seven weeks around that of a year before
	ByMean    Model = "mean"    // the plain mean of all weeks
	ByLevel   Model = "level"   // a level that is smoothed
	ByTrend   Model = "trend"   // a level and a trend
	BySeasons Model = "seasons" // and seasons of a year that add to it
	ByCroston Model = "croston"
	BySBA     Model = "sba"
	ByTSB     Model = "tsb"
)

// Models are all of them, the plainer ones first.
func Models() []Model {
	return []Model{ByYear, ByMean, ByAround, ByLevel, ByTrend, BySeasons, ByCroston, BySBA, ByTSB}
}

const (
	year    = 52 // weeks
	quarter = 13
)

// Least is how many weeks the model takes.
func (m Model) Least() int {
	switch m {
	case ByYear, ByAround:
		return year
	case ByMean, ByCroston, BySBA, ByTSB:
		return 1
	case ByLevel, ByTrend:
		return quarter + 1
	}
	return 2*year + 1
}

// Forecast is what is to be expected in each of the next weeks, never below 0.
// Weights are those of a small grid with the least squares of what one week
// before foretold.
func (m Model) Forecast(weeks []float64, ahead int) ([]float64, error) {
	switch {
	case !slices.Contains(Models(), m):
		return nil, fmt.Errorf("no model is called %q", m)
	case noDemand(weeks) != nil:
		return nil, noDemand(weeks)
	case len(weeks) < m.Least():
		return nil, TooFew{Have: len(weeks), Need: m.Least()}
	case ahead < 1:
		return nil, fmt.Errorf("%d weeks ahead", ahead)
	}
	return foretold(m.fit(weeks), ahead), nil
}

func foretold(walk foreteller, ahead int) []float64 {
	list := make([]float64, ahead)
	for i := range list {
		list[i] = walk.next(i + 1)
	}
	return list
}

// foreteller is a model on its way through a history.
type foreteller interface {
	next(h int) float64 // of the h-th week from here
	see(v float64)
}

// fit is one of Models after it saw the weeks, which are enough for it.
func (m Model) fit(weeks []float64) foreteller {
	var walk foreteller
	switch m {
	case ByYear:
		return lastTurn(weeks, year)
	case ByAround:
		return &around{lastTurn(weeks, year)}
	case ByMean:
		walk = &plain{}
	case ByLevel:
		return smoothers(Flat, weeks, firstQuarter(weeks), levels(0.05, 0.1, 0.2, 0.3, 0.5))
	case ByTrend:
		return smoothers(Sloped, weeks, firstQuarter(weeks), withEach(levels(0.05, 0.1, 0.2, 0.4), setTrend, 0.02, 0.1))
	case BySeasons:
		return smoothers(Added, weeks, Added.decompose(weeks[:2*year], year), withEach(withEach(levels(0.05, 0.2), setTrend, 0, 0.05), setSeason, 0.1, 0.3))
	case ByCroston:
		walk = crostons(func(alpha float64) float64 { return 1 })
	case BySBA:
		walk = crostons(func(alpha float64) float64 { return 1 - alpha/2 })
	case ByTSB:
		walk = tsbs()
	}
	for _, v := range weeks {
		walk.see(v)
	}
	return walk
}

// firstQuarter starts at the mean of a quarter of a year, since one week alone
// would be most of what a slow smoothing says for long.
func firstQuarter(weeks []float64) Start {
	var p plain
	for _, v := range weeks[:quarter] {
		p.see(v)
	}
	return Start{Level: p.next(1), From: quarter}
}

func smoothers(form Form, weeks []float64, s Start, weights []Weights) foreteller {
	g := grid{}
	for _, w := range weights {
		c := form.course(w, s)
		g.of = append(g.of, &c)
	}
	g.missed = make([]float64, len(g.of))
	for _, v := range weeks[s.From:] {
		g.see(v)
	}
	return &g
}

func levels(alphas ...float64) []Weights {
	var list []Weights
	for _, a := range alphas {
		list = append(list, Weights{Level: a})
	}
	return list
}

func setTrend(w *Weights, v float64)  { w.Trend = v }
func setSeason(w *Weights, v float64) { w.Season = v }

// withEach is each of the weights with each value of one more.
func withEach(list []Weights, set func(*Weights, float64), values ...float64) []Weights {
	var longer []Weights
	for _, w := range list {
		for _, v := range values {
			set(&w, v)
			longer = append(longer, w)
		}
	}
	return longer
}

func crostons(part func(alpha float64) float64) foreteller {
	g := grid{}
	for _, a := range []float64{0.05, 0.1, 0.2, 0.3} {
		g.of = append(g.of, &croston{alpha: a, part: part(a)})
	}
	g.missed = make([]float64, len(g.of))
	return &g
}

func tsbs() foreteller {
	g := grid{}
	for _, size := range []float64{0.1, 0.3} {
		for _, chance := range []float64{0.02, 0.05, 0.1, 0.2} {
			g.of = append(g.of, &tsb{bySize: size, byChance: chance})
		}
	}
	g.missed = make([]float64, len(g.of))
	return &g
}

// grid is one model with several weights, and speaks with those that missed
// least up to now.
type grid struct {
	of     []foreteller
	missed []float64 // sums of squares
	best   int
}

func (g *grid) see(v float64) {
	for i, f := range g.of {
		off := v - max(f.next(1), 0)
		g.missed[i] += off * off
		f.see(v)
		if g.missed[i] < g.missed[g.best] {
			g.best = i
		}
	}
}

func (g *grid) next(h int) float64 { return max(g.of[g.best].next(h), 0) }

// plain is the mean of all it saw.
type plain struct{ mean, n float64 }

func (p *plain) see(v float64) {
	p.n++
	p.mean += (v - p.mean) / p.n
}

func (p *plain) next(int) float64 { return p.mean }

// turn is the last turn of seasons as it was.
type turn struct {
	ring []float64
	at   int // where the season of the next lies
}

func lastTurn(y []float64, length int) *turn {
	return &turn{ring: append([]float64(nil), y[len(y)-length:]...)}
}

func (t *turn) see(v float64) {
	t.ring[t.at] = v
	t.at = (t.at + 1) % len(t.ring)
}

func (t *turn) next(h int) float64 { return t.ring[(t.at+h-1)%len(t.ring)] }

// around evens out what chance made of single weeks.
type around struct{ *turn }

func (a *around) next(h int) float64 {
	const side = 3 // weeks
	sum := 0.0
	for off := -side; off <= side; off++ {
		sum += a.turn.next(h + off + len(a.ring))
	}
	return sum / (2*side + 1)
}
