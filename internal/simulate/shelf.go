package simulate

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"damperdesk/internal/advice"
	"damperdesk/internal/order"
	"damperdesk/internal/stat"
	"damperdesk/internal/stock"
)

const (
	shelfYear   = 52 * 7 // days
	shelfWarm   = 2 * shelfYear
	shelfDays   = 4 * shelfYear
	shelfReview = 7 // days: what is advised is ordered on Mondays, by the plainer ways any day
)

// Policy is a way to say what to order.
type Policy string

// The policies, of which the first is the rule of the page of what to order.
const (
	ByAdvice  Policy = "our advice"
	WhenEmpty Policy = "order when empty"
	MinTwo    Policy = "minimum 2"
)

// Policies in the order they are reported.
var Policies = []Policy{ByAdvice, WhenEmpty, MinTwo}

// part is an invented item, with what jobs ask for on each day and how many days
// each order takes, one after the other: the same for every policy.
type part struct {
	price    float64
	pack     int64
	promised int // days
	asked    [][]int64
	leads    []int
	class    int
}

// ShelfResult is what a policy came to over the two years that count.
type ShelfResult struct {
	Policy
	Demands   int // asks of jobs
	Out       int // of them, not met whole at once
	Asked     int64
	Met       int64 // pieces at once
	WaitDays  int   // all days that jobs waited
	MeanStock float64
	Orders    int // lines of orders
	Levels    int // weeks times items in which the history was enough
	Reckoned  int // weeks times items
}

// ShelfRun takes an invented shop through four years under each policy. The first
// two are for its history alone. Nothing but the seed and the number of items
// decides what comes out.
func ShelfRun(seed uint64, items int) ([]ShelfResult, error) {
	parts := make([]part, items)
	for i := range parts {
		parts[i] = inventPart(rand.New(rand.NewPCG(seed, uint64(i))))
	}
	classifyParts(parts)
	results := make([]ShelfResult, len(Policies))
	for n, p := range Policies {
		each, failed := make([]ShelfResult, items), make([]error, items)
		var running sync.WaitGroup
		gate := make(chan struct{}, 4)
		for i := range parts {
			gate <- struct{}{}
			running.Go(func() {
				defer func() { <-gate }()
				each[i], failed[i] = parts[i].run(p)
			})
		}
		running.Wait()
		results[n].Policy = p
		for i, r := range each {
			if failed[i] != nil {
				return nil, fmt.Errorf("item %d: %w", i, failed[i])
			}
			results[n].add(r)
		}
	}
	return results, nil
}

func (r *ShelfResult) add(o ShelfResult) {
	r.Demands += o.Demands
	r.Out += o.Out
	r.Asked += o.Asked
	r.Met += o.Met
	r.WaitDays += o.WaitDays
	r.MeanStock += o.MeanStock
	r.Orders += o.Orders
	r.Levels += o.Levels
	r.Reckoned += o.Reckoned
}

// inventPart makes an item of a rate between one in twenty weeks and six a week. A
// third sells in seasons, a third now and then, several at a time.
func inventPart(r *rand.Rand) part {
	p := part{price: math.Round(200*math.Exp(r.Float64()*3.7)) / 100, pack: []int64{1, 1, 2, 5, 10}[r.IntN(5)], promised: 2 + r.IntN(13)}
	weekly := 0.05 * math.Exp(r.Float64()*math.Log(120))
	swing, size, peak := 0.0, 1.0, r.Float64()*0.2+0.4
	switch r.IntN(3) {
	case 0:
		swing = 0.5 + 0.45*r.Float64()
	case 1:
		size = 1 + 3*r.Float64()
	}
	p.asked = make([][]int64, shelfDays)
	for day := range p.asked {
		season := 1 + swing*math.Cos(2*math.Pi*(float64(day%shelfYear)/shelfYear-peak))
		for range poisson(r, weekly/7/size*season) {
			p.asked[day] = append(p.asked[day], 1+poisson(r, size-1))
		}
	}
	late := rand.New(rand.NewPCG(r.Uint64(), r.Uint64()))
	p.leads = make([]int, shelfDays)
	for i := range p.leads {
		p.leads[i] = max(1, p.promised-1+int(poisson(late, 1+0.2*float64(p.promised))))
	}
	return p
}

// poisson draws by multiplying, for small means.
func poisson(r *rand.Rand, mean float64) (n int64) {
	for product := r.Float64(); product > math.Exp(-mean); product *= r.Float64() {
		n++
	}
	return n
}

// classifyParts goes by the value asked for in the years that do not count.
func classifyParts(parts []part) {
	values := make([]float64, len(parts))
	for i, p := range parts {
		for _, day := range p.asked[:shelfWarm] {
			for _, q := range day {
				values[i] += float64(q) * p.price
			}
		}
	}
	classed, err := stat.Classes(values, 0.80, 0.95)
	if err != nil {
		return // nothing was asked for
	}
	for _, c := range classed {
		parts[c.At].class = c.Class
	}
}

// keeper is an item under a policy.
type keeper struct {
	part
	policy    Policy
	there     int64
	coming    []arrival
	sent      int
	waiting   []ask
	weeks     []advice.Week
	week      advice.Week
	days      []int // deliveries took
	low, high *int64
	result    ShelfResult
}

type (
	arrival struct {
		day, took int
		qty       int64
	}
	ask struct {
		day int
		qty int64 // left to be given
	}
)

func (p part) run(policy Policy) (ShelfResult, error) {
	k := keeper{part: p, policy: policy, there: order.Whole(2, p.pack)}
	for day := range p.asked {
		if day%7 == 0 && day > 0 {
			k.weeks, k.week = append(k.weeks, k.week), advice.Week{}
		}
		k.arrive(day)
		k.serve(day)
		if k.there == 0 {
			k.week.EmptyDays++
		}
		if day >= shelfWarm {
			k.result.MeanStock += float64(k.there) * p.price / (shelfDays - shelfWarm)
		}
		if policy == ByAdvice {
			if day%shelfReview != 0 {
				continue
			}
			if err := k.reckon(day); err != nil {
				return ShelfResult{}, err
			}
		}
		k.orderOn(day)
	}
	for _, a := range k.waiting {
		k.waited(a, len(p.asked))
	}
	return k.result, nil
}

func (k *keeper) arrive(day int) {
	k.coming = slices.DeleteFunc(k.coming, func(a arrival) bool {
		if a.day > day {
			return false
		}
		k.there += a.qty
		k.days = append(k.days, a.took)
		return true
	})
}

// serve gives to those that waited first, in their order.
func (k *keeper) serve(day int) {
	for len(k.waiting) > 0 && k.there > 0 {
		if k.give(&k.waiting[0]); k.waiting[0].qty > 0 {
			break
		}
		k.waited(k.waiting[0], day)
		k.waiting = k.waiting[1:]
	}
	for _, qty := range k.asked[day] {
		a := ask{day, qty}
		if len(k.waiting) == 0 {
			k.give(&a)
		}
		if day >= shelfWarm {
			k.result.Demands++
			k.result.Asked += qty
			k.result.Met += qty - a.qty
			if a.qty > 0 {
				k.result.Out++
			}
		}
		if a.qty > 0 {
			k.waiting = append(k.waiting, a)
		}
	}
}

func (k *keeper) give(a *ask) {
	now := min(a.qty, k.there)
	a.qty, k.there, k.week.Used = a.qty-now, k.there-now, k.week.Used+now
}

// waited counts the days of a job that came in the years that count.
func (k *keeper) waited(a ask, until int) {
	if a.day >= shelfWarm {
		k.result.WaitDays += until - a.day
	}
}

// reckon is what the background does, of what the shop knows by now. Without history
// enough the shop has said two by hand.
func (k *keeper) reckon(day int) error {
	setting := advice.Usual()
	t := advice.Terms{Measure: stock.Each, Lead: advice.Lead{Days: float64(k.promised)}, Review: shelfReview,
		Service: setting.Service(k.class), Order: float64(setting.OrderMinor), Hold: setting.HoldPercent / 100, Price: k.price * 100, Pack: k.pack}
	if l := order.LeadOf(k.days[max(0, len(k.days)-12):]); l.Known() {
		t.Lead = advice.Lead{Days: l.Mean, Variance: l.Variance, N: l.N}
	}
	r, err := advice.Reckon(k.weeks, t)
	if day >= shelfWarm {
		k.result.Reckoned++
	}
	low, high := int64(2), 2+k.pack
	switch err.(type) {
	case nil:
		low, high = r.Low, r.High
		if day >= shelfWarm {
			k.result.Levels++
		}
	case stat.Sparse:
	default:
		return err
	}
	k.low, k.high = &low, &high
	return nil
}

// orderOn sends what the policy says.
func (k *keeper) orderOn(day int) {
	s := order.Situation{Free: k.there, Jobs: len(k.waiting), Pack: k.pack, Low: k.low, High: k.high}
	for _, a := range k.coming {
		s.OnOrder += a.qty
	}
	for _, a := range k.waiting {
		s.Wanted += a.qty
	}
	qty := int64(0)
	has := s.Free + s.OnOrder - s.Wanted
	switch {
	case k.policy == ByAdvice:
		if suggested, ok := order.Suggest(s); ok {
			qty = suggested.Qty
		}
	case k.policy == WhenEmpty && has <= 0:
		qty = order.Whole(max(1, -has+1), k.pack)
	case k.policy == MinTwo && has < 2:
		qty = order.Whole(2-has, k.pack)
	}
	if qty == 0 {
		return
	}
	took := k.leads[k.sent]
	k.coming = append(k.coming, arrival{day + took, took, qty})
	slices.SortStableFunc(k.coming, func(a, b arrival) int { return cmp.Compare(a.day, b.day) })
	k.sent++
	if day >= shelfWarm {
		k.result.Orders++
	}
}
