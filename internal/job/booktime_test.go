package job

import (
	"math"
	"testing"

	"damperdesk/internal/procedure"
)

func shippedTimes(stated ...Stated) Times {
	_, services := procedure.Shipped()
	return Book(services, nil, stated)
}

// The ranges are common practice (no source): lowers 45 to 60 minutes, with the
// air spring 30 to 45 more, with the damper 45 to 75 more; full 120 to 150,
// bushings 90 to 120, a refit 20 to 30.
func TestShippedBookTimesAreUsual(t *testing.T) {
	b := shippedTimes()
	refit := 20.0
	for _, c := range []struct {
		services  []string
		low, high float64
	}{
		{[]string{"lower-leg"}, 45, 60},
		{[]string{"air-spring"}, 75, 105},
		{[]string{"lower-leg", "air-spring"}, 75, 105}, // the one covers the other
		{[]string{"damper"}, 90, 135},
		{[]string{"air-spring", "damper"}, 120, 180}, // the lowers come off once
		{[]string{"full"}, 120, 150},
		{[]string{"full", "lower-leg", "crown-steerer"}, 120, 150},
		{[]string{"full", "cartridge"}, 120, 150},
		{[]string{"bushing"}, 90, 120},
	} {
		minutes, n := b.For(Work{Services: c.services})
		if minutes < c.low || minutes > c.high || n != 0 {
			t.Errorf("%v takes %v minutes by %d jobs, usual is %v to %v", c.services, minutes, n, c.low, c.high)
		}
		whole, _ := b.For(Work{Services: c.services, WholeBike: true})
		if more := whole - minutes; more < refit || more > 30 {
			t.Errorf("%v: the refit takes %v minutes", c.services, more)
		}
	}
}

func TestWhatTheShopSetHolds(t *testing.T) {
	_, services := procedure.Shipped()
	b := Book(services, []BookTime{{"lower-leg", 0, 40}, {"lower-leg", 7, 70}, {Refit, 0, 10}}, nil)
	for _, c := range []struct {
		w    Work
		want float64
	}{
		{Work{Services: []string{"lower-leg"}}, 40},
		{Work{Services: []string{"lower-leg"}, ModelID: 7}, 70},
		{Work{Services: []string{"lower-leg"}, ModelID: 8, WholeBike: true}, 50},
		{Work{}, 60}, // as other work
		{Work{Services: []string{"own-polish"}}, ownMinutes},
	} {
		if got, _ := b.For(c.w); got != c.want {
			t.Errorf("%+v takes %v, want %v", c.w, got, c.want)
		}
	}
	if m, own := b.Minutes("air-spring", 7); m != 90 || own {
		t.Errorf("air spring on model 7: %d, set by the shop %v", m, own)
	}
}

// many is n jobs with a service that took the same share of their book time.
func many(n int, service string, model int64, ratio float64) []Stated {
	list := make([]Stated, n)
	for i := range list {
		list[i] = Stated{Work{Services: []string{service}, ModelID: model}, int(math.Round(ratio * float64(shippedMinutes[service])))}
	}
	return list
}

func TestStatedMinutesCorrectBookTimeTheMoreTheMoreThereAre(t *testing.T) {
	if l := shippedTimes(many(LeastStated-1, "lower-leg", 0, 1.5)...).Learnt("lower-leg", 0); l.Ratio != 1 || l.N != LeastStated-1 {
		t.Errorf("of %d jobs: %+v, which is not enough history", LeastStated-1, l)
	}
	last := 1.0
	for _, n := range []int{5, 10, 40, 400} {
		l := shippedTimes(many(n, "lower-leg", 0, 1.5)...).Learnt("lower-leg", 0)
		if l.N != n || l.Ratio <= last || l.Ratio > 1.5 {
			t.Errorf("of %d jobs that took half as long again: %+v, before %v", n, l, last)
		}
		last = l.Ratio
	}
	if last < 1.49 {
		t.Errorf("400 jobs that took half as long again correct by %v", last)
	}
}

func TestServicesAreDrawnTogether(t *testing.T) {
	var stated []Stated
	for service, ratio := range map[string]float64{"lower-leg": 1.2, "air-spring": 1.3, "damper": 1.2, "full": 1.3} {
		stated = append(stated, many(30, service, 0, ratio)...)
	}
	b := shippedTimes(append(stated, many(5, "bushing", 0, 0.8)...)...)
	// Alone it would be between 0.8 and 1; the shop is slower than its book.
	if l := b.Learnt("bushing", 0); l.Ratio < 0.8 || l.Ratio > 1.25 || l.N != 5 {
		t.Errorf("five quick jobs in a slow shop: %+v", l)
	}
	alone := shippedTimes(many(5, "bushing", 0, 0.8)...).Learnt("bushing", 0)
	if among := b.Learnt("bushing", 0); among.Ratio <= 0.8 || alone.Ratio <= 0.8 || alone.Ratio >= 1 {
		t.Errorf("alone %+v, among others %+v", alone, among)
	}
}

func TestAModelThatTakesLongerIsSeen(t *testing.T) {
	b := shippedTimes(append(many(40, "lower-leg", 1, 1), many(10, "lower-leg", 2, 2)...)...)
	slow, quick, other := b.Learnt("lower-leg", 2), b.Learnt("lower-leg", 1), b.Learnt("lower-leg", 3)
	if !(slow.Ratio > 1.5 && slow.Ratio < 2 && slow.N == 10) || quick.Ratio >= other.Ratio || other.N != 0 {
		t.Errorf("slow %+v, quick %+v, never seen %+v", slow, quick, other)
	}
	minutes, n := b.For(Work{Services: []string{"lower-leg"}, ModelID: 2})
	if want := 50 * slow.Ratio; math.Abs(minutes-want) > 1e-9 || n != 50 {
		t.Errorf("on the slow one it takes %v by %d jobs, want %v", minutes, n, want)
	}
}
