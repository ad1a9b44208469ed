package advice

import (
	"errors"
	"math"
	"testing"

	"damperdesk/internal/stat"
	"damperdesk/internal/stock"
)

// steady is the same use every week.
func steady(weeks int, used int64) []Week {
	list := make([]Week, weeks)
	for i := range list {
		list[i].Used = used
	}
	return list
}

func plainTerms() Terms {
	return Terms{Measure: stock.Each, Review: 7, Service: 0.95, Order: 800, Hold: 0.3, Price: 75, Pack: 1}
}

func reckon(t *testing.T, weeks []Week, terms Terms) Reckoned {
	t.Helper()
	r, err := Reckon(weeks, terms)
	if err != nil {
		t.Fatalf("Reckon(%d weeks, %+v): %v", len(weeks), terms, err)
	}
	return r
}

// Source: R 4.2.2 qpois: of a Poisson demand of 4.2 seven are enough with 90 %,
// eight with 95 %, ten with 99 %; of 2.4 five with 95 %. A use that never differs
// has no error of its own, so its demand is Poisson. The 4.2 are once those of one
// week, once of four and a half days' promise and two and a half of review more.
func TestReorderPointOfCountedDemand(t *testing.T) {
	for _, c := range []struct {
		weekly  int64 // µL
		lead    float64
		review  int
		service float64
		want    int64 // mL
	}{
		{4200, 0, 7, 0.90, 7},
		{4200, 0, 7, 0.95, 8},
		{4200, 0, 7, 0.99, 10},
		{2100, 7, 7, 0.95, 8},
		{1400, 14, 7, 0.99, 10},
		{2400, 4, 3, 0.95, 5},
		{8400, 0.5, 3, 0.95, 8}, // half a week
	} {
		terms := plainTerms()
		terms.Measure, terms.Lead.Days, terms.Review, terms.Service = stock.Volume, c.lead, c.review, c.service
		if got := reckon(t, steady(104, c.weekly), terms).Low; got != c.want*1000 {
			t.Errorf("%d µL a week, %v days and %d: ordered below %d µL, want %d mL", c.weekly, c.lead, c.review, got, c.want)
		}
	}
}

// Source: SCperf's ROP example: 2500 a period with a standard deviation of 500, six
// periods, 90 % → 16569.57, of normal demand. Counted demand leans to the right and
// may be off by a few pieces.
func TestReorderPointOfLargeDemandIsNearlyNormal(t *testing.T) {
	const mean, want = 2500 * 6, 16569.57
	got, err := level(mean, 500*500*6, 0.90)
	if err != nil || math.Abs(float64(got)-want) > 0.002*want {
		t.Errorf("level = %d, %v; want about %v", got, err, want)
	}
	got, err = level(mean*100, 500*500*6*10000, 0.90)
	if err != nil || float64(got) != math.Ceil(100*16569.5705) && math.Abs(float64(got)-100*want) > 2 {
		t.Errorf("level = %d, %v; want about %v", got, err, 100*want)
	}
}

// Source: Chopra & Meindl, demand over an uncertain lead time: 2500 a day with a
// deviation of 500, seven days with a deviation of seven, give 17,500 with
// √(7·500² + 2500²·49) = 17,550 (from memory of the book).
func TestDemandOverAnUncertainLeadTime(t *testing.T) {
	const week = 2500 * 7
	c := stat.Choice{Weeks: []float64{week}, Trial: stat.Trial{Total: 500 * math.Sqrt(7)}}
	mean, variance := over(c, 1, 49)
	if mean != week || math.Abs(math.Sqrt(variance)-17550) > 1 {
		t.Errorf("%v with %v, want 17500 with 17550", mean, math.Sqrt(variance))
	}
}

// Source: Snyder & Shen example 3.1: an order costs 8, holding one a year 0.225
// (here 30 % of 0.75), 1300 a year → 304.05 at a time.
func TestOrderQuantity(t *testing.T) {
	terms := plainTerms()
	r := reckon(t, steady(104, 25), terms)
	if r.Batch != 305 || r.High != r.Low+305 || !r.Priced || r.Capped {
		t.Errorf("%+v: want 305 at a time on top of %d", r, r.Low)
	}
	terms.Pack = 50
	if r = reckon(t, steady(104, 25), terms); r.Batch != 350 {
		t.Errorf("in packs of 50: %d, want 350", r.Batch)
	}
	terms.Pack, terms.Price = 1, 0
	if r = reckon(t, steady(104, 25), terms); r.Batch != 100 || r.Priced {
		t.Errorf("without a price: %d, want four weeks of 25", r.Batch)
	}
	// What keeps eight weeks: no more than 200 lie there.
	terms.Price, terms.ShelfDays = 75, 56
	if r = reckon(t, steady(104, 25), terms); r.High != 200 || !r.Capped || r.Low > r.High {
		t.Errorf("kept 56 days: %+v, want up to 200", r)
	}
}

// A month of 4 weeks with nothing on the shelf hides demand, which is not taken for
// none; where jobs waited and took it afterwards it is not counted twice.
func TestWeeksWithAnEmptyShelf(t *testing.T) {
	for name, c := range map[string]struct {
		after int64
		each  float64
	}{
		"nobody waited":     {5, 5},
		"all of it waited":  {25, 5},
		"more than usually": {50, 10},
	} {
		weeks := steady(20, 5)
		for i := 10; i < 14; i++ {
			weeks[i] = Week{EmptyDays: 7}
		}
		weeks[14].Used = c.after
		y, empty := filled(weeks, 1)
		if empty != 4 || y[9] != 5 || y[15] != 5 {
			t.Errorf("%s: %v, %d empty", name, y, empty)
		}
		for i := 10; i < 15; i++ {
			if y[i] != c.each {
				t.Errorf("%s: week %d is %v, want %v", name, i, y[i], c.each)
			}
		}
	}
	weeks := steady(104, 5)
	for i := range 70 {
		weeks[i] = Week{EmptyDays: 7}
	}
	var sparse stat.Sparse
	if _, err := Reckon(weeks, plainTerms()); !errors.As(err, &sparse) || sparse.Weeks != 34 {
		t.Errorf("34 weeks with something on the shelf: %v", err)
	}
}

func TestTooLittleHistoryIsSaid(t *testing.T) {
	var sparse stat.Sparse
	for name, weeks := range map[string][]Week{
		"none":           nil,
		"short":          steady(stat.LeastWeeks(1)-1, 3),
		"nothing wanted": steady(200, 0),
	} {
		if _, err := Reckon(weeks, plainTerms()); !errors.As(err, &sparse) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Reckon(steady(stat.LeastWeeks(1), 3), plainTerms()); err != nil {
		t.Error(err)
	}
}

// A part that is wanted from week 20 to 32 of each year alone has its season there.
func TestTheSeasonAhead(t *testing.T) {
	weeks := steady(52*4+10, 0)
	for i := range weeks {
		if w := i % 52; w >= 20 && w < 33 {
			weeks[i].Used = 8
		}
	}
	r := reckon(t, weeks, plainTerms())
	if r.Season == nil || r.Season.In != 10 || r.Season.Takes != 13*8 || r.Season.Until != 0 {
		t.Errorf("%+v by %s", r.Season, r.Model)
	}
	if r := reckon(t, steady(52*4, 8), plainTerms()); r.Season != nil {
		t.Errorf("of steady use: %+v", r.Season)
	}
}
