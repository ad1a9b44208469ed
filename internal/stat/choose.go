package stat

import (
	"fmt"
	"math"
)

// Trial is how far off a model was of weeks it had not seen: from each of some
// origins, one a week, it foretold the weeks ahead from those before alone.
type Trial struct {
	Model Model
	// Total is the root mean squared error of what was asked for in the weeks
	// ahead together, in pieces: its square is a variance for DemandOf.
	Total float64
	// RMSSE and MASE are the errors of single weeks, squared and as they are, in
	// those that seasonal-naive makes before the first origin, of a quarter of a
	// year at least, where a week is foretold by that of a year before, or without
	// two years by the last one (Hyndman & Koehler 2006).
	RMSSE, MASE float64
}

// Choice is the model for a history.
type Choice struct {
	Trial
	Bar     Trial   // what had to be beaten: seasonal-naive, or of less than two years the plain mean
	Trials  []Trial // of each candidate, Bar among them
	Origins int
	Weeks   []float64 // the forecast of each week ahead
}

// Sparse says that a history says too little to compare models by.
type Sparse struct{ Weeks, NeedWeeks, Demands, NeedDemands int }

func (e Sparse) Error() string {
	return fmt.Sprintf("%d weeks with something asked for in %d of them; it takes %d weeks and %d such",
		e.Weeks, e.Demands, e.NeedWeeks, e.NeedDemands)
}

const (
	// LeastDemands is in how many weeks something has to have been asked for: of
	// eight the rate that may stand behind them is up to twice what was seen, of
	// seven more (Garwood’s interval at 0.95, see Poisson).
	LeastDemands = 8
	// MostAhead is how many weeks ahead Choose looks: of two years half a year is
	// left to try it in.
	MostAhead = 26

	fewestOrigins = quarter
	mostOrigins   = year
)

// LeastWeeks is how many weeks Choose takes: half a year before the first
// origin, of which a quarter makes a start and a quarter weighs, and a quarter
// of origins with the weeks ahead behind the last.
func LeastWeeks(ahead int) int { return 2*quarter + fewestOrigins + ahead - 1 }

// Choose tries every model on weekly counts, weeks with none among them, oldest
// first, and takes the one with the least Total; a model that is not better than
// the bar is not taken, and of two that are as good the plainer. Total over that
// of the bar is the relative RMSE of Hyndman & Koehler (2006). It is Sparse where
// the history is too short.
//
// The weeks ahead together decide, because an order has to last for all of them,
// and in single weeks chance hides a season. Squares decide, because they are
// least for a model that foretells the mean. Errors as they are would be least
// for one that foretells the median, which is none at all of a part that most
// weeks nobody asks for (Kolassa 2016).
func Choose(weeks []float64, ahead int) (Choice, error) {
	if ahead < 1 || ahead > MostAhead {
		return Choice{}, fmt.Errorf("%d weeks ahead: from 1 to %d", ahead, MostAhead)
	}
	if err := noDemand(weeks); err != nil {
		return Choice{}, err
	}
	short := Sparse{Weeks: len(weeks), NeedWeeks: LeastWeeks(ahead), NeedDemands: LeastDemands}
	for _, v := range weeks {
		if v > 0 {
			short.Demands++
		}
	}
	if short.Weeks < short.NeedWeeks || short.Demands < short.NeedDemands {
		return Choice{}, short
	}
	t := trialOf(weeks, ahead)
	c := Choice{Origins: t.origins}
	var chosen foreteller
	for _, m := range t.candidates() {
		walk := m.fit(weeks[:t.first])
		trial := t.run(walk, m)
		c.Trials = append(c.Trials, trial)
		// Rounding beats nobody.
		if chosen == nil || trial.Total < c.Total*(1-1e-9)-1e-12 {
			c.Trial, chosen = trial, walk
		}
	}
	c.Bar = c.Trials[0]
	for _, v := range weeks[t.first+t.origins:] {
		chosen.see(v)
	}
	c.Weeks = foretold(chosen, ahead)
	return c, nil
}

// trial is which weeks models are tried on.
type trial struct {
	weeks          []float64
	ahead          int
	first, origins int     // the first origin has seen weeks[:first]
	abs, square    float64 // errors of single weeks are in these
}

func trialOf(weeks []float64, ahead int) trial {
	t := trial{weeks: weeks, ahead: ahead}
	seen, period := 2*quarter, 1
	if len(weeks) >= 2*year {
		seen, period = year, year
	}
	t.first = max(seen, len(weeks)-ahead+1-mostOrigins)
	t.origins = len(weeks) - ahead + 1 - t.first
	t.abs, t.square = naive(weeks[:max(t.first, period+quarter)], period)
	if t.abs == 0 { // so far each period was as the last
		t.abs, t.square = naive(weeks, period)
	}
	if t.abs == 0 {
		t.abs, t.square = 1, 1 // it is to the end: errors in pieces
	}
	return t
}

// naive is the mean absolute and the root mean squared difference from one
// period to the next.
func naive(y []float64, period int) (abs, square float64) {
	n := float64(len(y) - period)
	for i := period; i < len(y); i++ {
		off := y[i] - y[i-period]
		abs += math.Abs(off) / n
		square += off * off / n
	}
	return abs, math.Sqrt(square)
}

// candidates are the models that the weeks before the first origin are enough
// for, the bar first: of less than two years no origin has seen a whole one.
func (t trial) candidates() []Model {
	var list []Model
	for _, m := range Models() {
		if m.Least() <= t.first {
			list = append(list, m)
		}
	}
	return list
}

// run takes a model from the first origin to the last.
func (t trial) run(walk foreteller, m Model) Trial {
	var abs, square, totals float64
	for origin := t.first; origin < t.first+t.origins; origin++ {
		total := 0.0
		for i, v := range t.weeks[origin : origin+t.ahead] {
			off := v - walk.next(i+1)
			abs += math.Abs(off)
			square += off * off
			total += off
		}
		totals += total * total
		walk.see(t.weeks[origin])
	}
	n := float64(t.origins * t.ahead)
	return Trial{
		Model: m,
		RMSSE: math.Sqrt(square/n) / t.square,
		MASE:  abs / n / t.abs,
		Total: math.Sqrt(totals / float64(t.origins)),
	}
}
