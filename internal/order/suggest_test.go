package order

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

func of(n int64) *int64 { return &n }

// Source: arithmetic by hand of the rule in the shop's words: free and on order,
// less what jobs wait for, is filled up once it is below what is ordered at.
func TestWhatToOrderAndWhy(t *testing.T) {
	for name, c := range map[string]struct {
		in   Situation
		want int64 // 0: nothing
	}{
		"enough is there":                   {Situation{Free: 6, Low: of(6), High: of(12), Pack: 5}, 0},
		"what is on order counts":           {Situation{Free: 2, OnOrder: 4, Low: of(6), High: of(12), Pack: 5}, 0},
		"what is in a draft counts":         {Situation{Free: 2, Drafted: 4, Low: of(6), High: of(12), Pack: 5}, 0},
		"filled up in whole packs":          {Situation{Free: 2, OnOrder: 3, Low: of(6), High: of(12), Pack: 5}, 10},
		"filled up exactly":                 {Situation{Free: 2, Low: of(6), High: of(12), Pack: 5}, 10},
		"to twice that without a high":      {Situation{Free: 1, Low: of(4), Pack: 1}, 7},
		"what jobs wait for comes off":      {Situation{Free: 6, Wanted: 2, Low: of(6), High: of(12), Pack: 1}, 8},
		"for jobs alone without a low":      {Situation{Free: 1, Wanted: 4, Pack: 2}, 4},
		"jobs have what they want":          {Situation{Free: 4, Wanted: 4, Pack: 2}, 0},
		"more is set aside than there is":   {Situation{Free: -3, Low: of(0), Pack: 1}, 3},
		"nothing is said and nothing wants": {Situation{Free: 0, Pack: 1}, 0},
		"kept at none, and a job wants two": {Situation{Wanted: 2, Low: of(0), High: of(1), Pack: 1}, 3},
		"fluid by the litre":                {Situation{Free: 400_000, Low: of(500_000), Pack: 1_000_000}, 1_000_000},
	} {
		got, ok := Suggest(c.in)
		if ok != (c.want > 0) || got.Qty != c.want {
			t.Errorf("%s: Suggest(%+v) = %d, %v; want %d", name, c.in, got.Qty, ok, c.want)
		}
	}
	got, _ := Suggest(Situation{Free: 2, OnOrder: 3, Low: of(6), High: of(12), Pack: 5})
	want := []Reason{{Because: IsFree, Amount: 2}, {Because: IsSent, Amount: 3}, {Because: Below, Amount: 6}, {Because: UpTo, Amount: 12},
		{Because: Lacking, Amount: 7}, {Because: InPacks, Amount: 5}, {Because: Comes, Amount: 10}}
	if !reflect.DeepEqual(got.Why, want) {
		t.Errorf("why: %+v, want %+v", got.Why, want)
	}
	basis := Reason{Words: "9 used in 30 days"}
	if got, _ := Suggest(Situation{Low: of(1), Pack: 1, Basis: []Reason{basis}}); got.Why[0] != basis {
		t.Errorf("the basis does not come first: %+v", got.Why)
	}
}

func TestASuggestionFillsUpAndNoPackTooMany(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, low, high int64) int64 { return rapid.Int64Range(low, high).Draw(t, name) }
		s := Situation{Free: draw("free", -50, 50), OnOrder: draw("on order", 0, 50), Drafted: draw("drafted", 0, 50), Wanted: draw("wanted", 0, 50), Pack: draw("pack", 1, 12)}
		to := int64(0)
		if draw("has low", 0, 1) == 1 {
			s.Low = of(draw("low", 0, 40))
			to = 2 * *s.Low
			if draw("has high", 0, 1) == 1 {
				s.High = of(*s.Low + draw("above", 0, 40))
				to = *s.High
			}
		}
		has := s.Free + s.OnOrder + s.Drafted - s.Wanted
		got, ok := Suggest(s)
		switch {
		case !ok && (s.Low != nil && has < *s.Low || has < 0):
			t.Fatalf("nothing for %+v", s)
		case ok && (got.Qty%s.Pack != 0 || has+got.Qty < to || has+got.Qty-s.Pack >= to):
			t.Fatalf("%d for %+v, to be filled up to %d", got.Qty, s, to)
		}
	})
}
