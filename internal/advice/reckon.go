// Package advice reckons from what was used below which amount an item is to be
// ordered and up to which it is filled, keeps it with its reasons, and says what
// the season ahead will take.
package advice

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"damperdesk/internal/order"
	"damperdesk/internal/stat"
	"damperdesk/internal/stock"
)

// Lead is how long a delivery takes.
type Lead struct {
	Days     float64
	Variance float64 // days squared; 0 of what was promised
	N        int     // deliveries measured; 0: as promised
}

// Terms are what beside its history an item is reckoned by.
type Terms struct {
	Measure   stock.Measure
	Lead      Lead
	Review    int // days from one look at what to order to the next, above 0
	Service   float64
	Order     float64 // what an order costs
	Hold      float64 // share of its price that an amount costs that lies there a year
	Price     float64 // of a piece, a litre or a kilogram, in the currency of Order; 0: not known
	Pack      int64
	ShelfDays int // 0: it keeps
}

// Counted is the amount that demand of a measure is counted in: a piece, a
// millilitre, a gram.
func Counted(m stock.Measure) int64 {
	if m == stock.Each {
		return 1
	}
	return 1000
}

// Reckoned is what comes out, with the figures it came from. Amounts are in the
// smallest unit of the measure, also where they are means.
type Reckoned struct {
	Low, High int64
	Weeks     int // complete ones since it was first there or asked for
	Empty     int // of them, with an empty shelf on most days and nothing used
	Mean      float64
	Model     stat.Model
	Bar       stat.Model // what had to be beaten
	Off       float64    // how far the model was off the weeks of Days together, root mean squared
	BarOff    float64
	Lead      Lead
	Review    int
	Service   float64
	Demand    float64 // expected from one look until what is ordered at the next has come
	DemandSD  float64
	Batch     int64 // what pays to order at a time, in whole packs
	Priced    bool  // Batch goes by the price; else it is four weeks of use
	Capped    bool  // Low or High is less for what would be too old
	Season    *Season
}

// Days is how long the shelf has to last once nothing was ordered.
func (r Reckoned) Days() float64 { return r.Lead.Days + float64(r.Review) }

// weeksWithoutPrice is how much is ordered at a time where no price is known:
// common practice (no source).
const weeksWithoutPrice = 4

// MostWeeks is for how many weeks of use is ordered at a time at most: cheap items
// would pay for longer, and nobody knows what is used then. Common practice (no source).
const MostWeeks = 26

// Reckon says when to order how much, from complete weeks, oldest first. It fails
// with stat.Sparse where they say too little; weeks with an empty shelf do not count
// for that.
func Reckon(weeks []Week, t Terms) (Reckoned, error) {
	r := Reckoned{Weeks: len(weeks), Lead: t.Lead, Review: t.Review, Service: t.Service}
	if t.Review < 1 || t.Lead.Days < 0 || t.Lead.Variance < 0 || t.Pack < 1 {
		return r, errors.New("no item is bought like that")
	}
	unit := float64(Counted(t.Measure))
	y, empty := filled(weeks, unit)
	r.Empty = empty
	span := r.Days() / 7
	ahead := min(max(int(math.Ceil(span)), 1), stat.MostAhead)
	if err := enough(weeks, ahead); err != nil {
		return r, err
	}
	choice, err := stat.Choose(y, ahead)
	if err != nil {
		return r, err
	}
	r.Model, r.Off = choice.Model, choice.Total*unit
	r.Bar, r.BarOff = choice.Bar.Model, choice.Bar.Total*unit
	expected, variance := over(choice, span, t.Lead.Variance)
	r.Demand, r.DemandSD = expected*unit, math.Sqrt(variance)*unit
	point, err := level(expected, variance, t.Service)
	if err != nil {
		return r, fmt.Errorf("reckon a reorder point: %w", err)
	}
	r.Low = int64(point) * int64(unit)
	year := mean(y[max(0, len(y)-52):])
	r.Mean = year * unit
	if err := r.batch(year, t); err != nil {
		return r, err
	}
	r.Season = season(choice.Model, y, unit)
	return r, nil
}

// enough holds the weeks in which something could be taken to the least that a
// choice takes.
func enough(weeks []Week, ahead int) error {
	known := stat.Sparse{NeedWeeks: stat.LeastWeeks(ahead), NeedDemands: stat.LeastDemands}
	for _, w := range weeks {
		if w.hidden() {
			continue
		}
		known.Weeks++
		if w.Used > 0 {
			known.Demands++
		}
	}
	if known.Weeks < known.NeedWeeks || known.Demands < known.NeedDemands {
		return known
	}
	return nil
}

// over is the demand of a span in weeks. The error of the weeks tried together is
// shared out evenly, and a lead time that is uncertain adds what the demand of its
// days does (stat.OverLead).
func over(c stat.Choice, span, leadVariance float64) (expected, variance float64) {
	n := float64(len(c.Weeks))
	for i, v := range c.Weeks {
		expected += v * min(max(span-float64(i), 0), 1)
	}
	if span > n { // longer than any forecast looks
		expected *= span / n
	}
	weekly := expected / span
	return expected, c.Total*c.Total*span/n + weekly*weekly*leadVariance/49
}

// mostCounted is up to where demand is reckoned piece by piece; beyond, its
// distribution is as good as normal.
const mostCounted = 100_000

// level is the reorder point in counted units.
func level(expected, variance, service float64) (int, error) {
	switch {
	case expected == 0:
		return 0, nil
	case expected > mostCounted:
		s, err := stat.NormalLevel(expected, math.Sqrt(max(variance, expected)), service)
		return int(math.Ceil(s)), err
	}
	d, err := stat.DemandOf(expected, variance)
	if err != nil {
		return 0, err
	}
	return d.Level(service)
}

// batch sets what pays to order at a time on top of Low, as far as it is used
// before it is too old. Weekly is in counted units.
func (r *Reckoned) batch(weekly float64, t Terms) error {
	unit := float64(Counted(t.Measure))
	quantity := weekly * weeksWithoutPrice
	if price := t.Price * unit / float64(t.Measure.Priced()); price > 0 && weekly > 0 {
		var err error
		if quantity, _, err = (stat.Costs{Order: t.Order, Hold: t.Hold * price}).EOQ(weekly * 52); err != nil {
			return fmt.Errorf("reckon what to order at a time: %w", err)
		}
		r.Priced = true
	}
	if weekly > 0 {
		quantity = min(quantity, weekly*MostWeeks)
	}
	r.Batch = order.Whole(max(int64(math.Ceil(quantity)), 1)*int64(unit), t.Pack)
	r.High = r.Low + r.Batch
	if t.ShelfDays > 0 {
		used := int64(weekly*float64(t.ShelfDays)/7) * int64(unit)
		r.Capped = used < r.High
		r.High = min(r.High, used)
		r.Low = min(r.Low, r.High)
	}
	return nil
}

// Season is what the busiest thirteen weeks take of the year to come.
type Season struct {
	In    int   // weeks until they begin, from the running one on
	Until int64 // used before
	Takes int64
}

const (
	seasonWeeks = 13
	// busier is by how much a season has to be above the mean of the year.
	busier = 1.25
)

// Seasonal reports whether a model knows one week of the year from another.
func Seasonal(m stat.Model) bool {
	return slices.Contains([]stat.Model{stat.ByYear, stat.ByAround, stat.BySeasons}, m)
}

// season is nil where the history shows none.
func season(m stat.Model, y []float64, unit float64) *Season {
	if !Seasonal(m) {
		return nil
	}
	ahead, err := m.Forecast(y, 52)
	if err != nil {
		return nil
	}
	at, most := 0, -1.0
	for i := 0; i+seasonWeeks <= len(ahead); i++ {
		if sum := mean(ahead[i:i+seasonWeeks]) * seasonWeeks; sum > most+1e-9 {
			at, most = i, sum
		}
	}
	if most < busier*seasonWeeks*mean(ahead) || most <= 0 {
		return nil
	}
	whole := func(counted float64) int64 { return int64(math.Ceil(counted-1e-9)) * int64(unit) }
	return &Season{In: at, Until: whole(mean(ahead[:at]) * float64(at)), Takes: whole(most)}
}

func mean(y []float64) float64 {
	if len(y) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range y {
		sum += v
	}
	return sum / float64(len(y))
}
