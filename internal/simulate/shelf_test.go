package simulate

import (
	"reflect"
	"testing"
)

func TestTheSameShelfComesOutTheSame(t *testing.T) {
	one, err := ShelfRun(7, 25)
	if err != nil {
		t.Fatal(err)
	}
	two, err := ShelfRun(7, 25)
	if err != nil || !reflect.DeepEqual(one, two) {
		t.Errorf("%+v and %+v, %v", one, two, err)
	}
	other, err := ShelfRun(8, 25)
	if err != nil || reflect.DeepEqual(one, other) {
		t.Errorf("another seed: the same, %v", err)
	}
	for _, r := range one[1:] {
		if r.Demands != one[0].Demands || r.Asked != one[0].Asked {
			t.Errorf("%s saw another demand than %s", r.Policy, one[0].Policy)
		}
	}
}

// Source: arithmetic: what is asked for and how long it takes never differs, so that
// there is always enough of what is ordered in time.
func TestConstantDemandNeverRunsOut(t *testing.T) {
	for _, c := range []struct {
		each  int64
		every int // days
		lead  int
		pack  int64
	}{{1, 1, 7, 1}, {1, 1, 14, 10}, {3, 2, 5, 5}, {4, 7, 3, 1}, {1, 7, 10, 2}} {
		p := part{price: 4, pack: c.pack, promised: c.lead, asked: make([][]int64, shelfDays), leads: make([]int, shelfDays)}
		for day := range p.asked {
			p.leads[day] = c.lead
			if day%c.every == 0 {
				p.asked[day] = []int64{c.each}
			}
		}
		r, err := p.run(ByAdvice)
		if err != nil || r.Out != 0 || r.Demands == 0 || r.Levels != r.Reckoned {
			t.Errorf("%+v: %+v, %v", c, r, err)
		}
		if r, err = p.run(WhenEmpty); err != nil || r.Out == 0 {
			t.Errorf("%+v: ordering when it is empty never runs out: %+v, %v", c, r, err)
		}
	}
}

// Work by hand: two are there and nothing comes for ten days from day 0 on.
func TestDaysThatJobsWait(t *testing.T) {
	k := keeper{part: part{price: 1, pack: 1, asked: make([][]int64, shelfDays)}, there: 2, coming: []arrival{{shelfWarm + 10, 10, 2}}}
	k.asked[shelfWarm], k.asked[shelfWarm+1] = []int64{1, 2}, []int64{1}
	for day := shelfWarm; day <= shelfWarm+10; day++ {
		k.arrive(day)
		k.serve(day)
	}
	if r := k.result; r.Demands != 3 || r.Out != 2 || r.Asked != 4 || r.Met != 2 || r.WaitDays != 10+9 || k.there != 0 || len(k.waiting) != 0 {
		t.Errorf("%+v, %d left, waiting %v", r, k.there, k.waiting)
	}
}
