package interval

import (
	"testing"
	"time"
)

// A fork left on 1 March; its rider says a habit then, 45 h on 20 June and 20 h
// more on 1 August: 50 h were ridden a quarter into those 42 days, on 1 July.
// That makes two forecasts, and each knows what was said by its day alone.
func TestPastForecastsKnowNothingOfLater(t *testing.T) {
	north := SeasonOf("north")
	left, june, august := on(t, "2025-03-01"), on(t, "2025-06-20"), on(t, "2025-08-01")
	habit := Reading{Kind: Habit, RidesAWeek: 2, HoursARide: 1.5, At: left}
	first := Reading{Kind: Stated, Hours: 45, Since: &left, At: june}
	second := Reading{Kind: Stated, Hours: 20, Since: &june, At: august}
	told := func(list ...Reading) Told {
		return Told{readings: map[int64][]Reading{1: list}, zone: time.UTC, season: north}
	}
	norm := func(time.Time) Norm { return Shipped(north) }
	list := told(habit, first, second).Pasts(1, 50, left, time.Time{}, norm)
	if len(list) != 2 || !list[0].Made.Equal(left) || !list[1].Made.Equal(june) {
		t.Fatalf("got %+v, want a forecast of each day", list)
	}
	for i, known := range [][]Reading{{habit}, {habit, first}} {
		o := Rule{Hours: 50}.Outlook(Facts{Served: &Served{Ready: left, Left: left}, Log: NewLog(known, time.UTC, Riding{Season: north}), Season: north, Norm: Shipped(north)})
		if list[i].Forecast != o.Forecast || !list[i].Came.Equal(on(t, "2025-07-01")) {
			t.Errorf("on %s: got %+v, want %+v and 1 July", list[i].Made, list[i], o.Forecast)
		}
	}
	if p := list[1]; !p.Inside() || p.Off() > 14 {
		t.Errorf("with 5 h left: %+v, off by %d days", p, p.Off())
	}
	if got := told(habit, first).Pasts(1, 50, left, time.Time{}, norm); len(got) != 0 {
		t.Errorf("nobody knows when it came, and got %+v", got)
	}
	if got := told(habit, first, second).Pasts(1, 50, left, on(t, "2025-07-20"), norm); len(got) != 0 {
		t.Errorf("the next service was before the count, and got %+v", got)
	}
	since := on(t, "2025-07-05")
	gap := Reading{Kind: Stated, Hours: 20, Since: &since, At: august}
	if got := told(habit, first, gap).Pasts(1, 50, left, time.Time{}, norm); len(got) != 0 {
		t.Errorf("two weeks were not counted, and got %+v", got)
	}
}

// A forecast whose band ended while hours still fell short did not come true.
func TestAForecastThatHadNotComeByTheEndOfItsBand(t *testing.T) {
	north := SeasonOf("north")
	left, october := on(t, "2025-03-01"), on(t, "2025-10-30")
	often := Reading{Kind: Habit, RidesAWeek: 4, HoursARide: 3, At: left}
	hardly := Reading{Kind: Stated, Hours: 20, Since: &left, At: october}
	told := Told{readings: map[int64][]Reading{1: {often, hardly}}, zone: time.UTC, season: north}
	list := told.Pasts(1, 50, left, time.Time{}, func(time.Time) Norm { return Shipped(north) })
	if len(list) != 1 || list[0].Inside() || list[0].Off() < days(list[0].Median, list[0].High) {
		t.Errorf("got %+v, want one that is outside", list)
	}
}
