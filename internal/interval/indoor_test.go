package interval

import (
	"slices"
	"testing"
	"time"
)

// Hours on a trainer do not count: common practice (no source). Which of the two
// a meter agrees with is a rule of ours, the hours are arithmetic: 70 days, of
// which a meter may have been read for some.
func TestTrainerHoursComeOffTheMeterThatShowsThem(t *testing.T) {
	meter := func(day string, shows, indoors float64) Reading {
		return Reading{Kind: Meter, Hours: shows, IndoorHours: indoors, OnDay: on2(t, day), At: on(t, day), Source: "bike computer"}
	}
	stated := func(at, since string, hours, indoors float64) Reading {
		r := Reading{Kind: Stated, Hours: hours, IndoorHours: indoors, At: on(t, at), Source: "rider"}
		if since != "" {
			r.Since = on2(t, since)
		}
		return r
	}
	first, said := meter("2026-03-02", 400, 0), stated("2026-05-11", "2026-03-02", 40, 20)
	for _, c := range []struct {
		name  string
		said  []Reading
		hours float64
	}{
		{"it shows all the hours", []Reading{first, meter("2026-05-11", 440, 0), said}, 20},
		{"said the other way round", []Reading{said, meter("2026-05-11", 440, 0), first}, 20},
		{"it shows nearer to all", []Reading{first, meter("2026-05-11", 436, 0), said}, 16},
		{"it shows those outdoors alone", []Reading{first, meter("2026-05-11", 420, 0), said}, 20},
		{"it shows as near to the one as to the other", []Reading{first, meter("2026-05-11", 430, 0), said}, 30},
		{"it showed less than was ridden on the trainer", []Reading{first, meter("2026-05-11", 412, 0), stated("2026-05-11", "2026-03-02", 20, 20)}, 0},
		{"its own were said", []Reading{first, meter("2026-05-11", 440, 12), said}, 28},
		{"it was read for half of the days", []Reading{meter("2026-04-06", 400, 0), meter("2026-05-11", 420, 0), said}, 10 + 10},
		{"it was read in between", []Reading{first, meter("2026-04-06", 430, 0), meter("2026-05-11", 440, 0), said}, 20},
		{"they were said twice, and come off once", []Reading{first, meter("2026-05-11", 444, 0), said, stated("2026-05-11", "2026-03-02", 44, 24)}, 20},
		{"of other days", []Reading{first, meter("2026-05-11", 440, 0), stated("2026-03-02", "2025-12-01", 40, 20)}, 40},
		{"since a day that nobody knows", []Reading{first, meter("2026-05-11", 440, 0), stated("2026-05-11", "", 40, 20)}, 40},
		{"who said it last knows of none", []Reading{first, meter("2026-05-11", 440, 0), said, stated("2026-05-11", "2026-03-02", 40, 0)}, 40},
		{"it was not ridden", []Reading{first, meter("2026-05-11", 400, 0), said}, 0},
	} {
		log := NewLog(c.said, time.UTC, Riding{})
		if got := log.Ridden(on(t, "2026-03-02"), on(t, "2026-05-11")); !near(got.Hours, c.hours) || got.Gap != 0 {
			t.Errorf("%s: got %+v, want %v h", c.name, got, c.hours)
		}
	}
	log := NewLog([]Reading{first, meter("2026-05-11", 440, 0), said}, time.UTC, Riding{})
	if list := log.Contradictions(); len(list) != 0 {
		t.Errorf("a meter that agrees contradicts: %+v", list)
	}
	for _, u := range log.Used() {
		if u.Kind == Meter && !u.FirstMeter && (u.Trainer != 20 || u.Plain != 20) {
			t.Errorf("the meter counts %v h, %v on a trainer; want 20 and 20", u.Plain, u.Trainer)
		}
	}
	day := func(n int, shows float64) Reading {
		r := meter("2026-05-11", shows, 0)
		r.At = r.At.Add(time.Duration(n) * time.Hour)
		return r
	}
	log = NewLog([]Reading{meter("2026-05-11", 400, 0), day(1, 401), day(2, 411), stated("2026-05-11", "2026-05-10", 11, 8)}, time.UTC, Riding{})
	var plain, trainer []float64
	for _, u := range log.Used() {
		if u.Kind == Meter && !u.FirstMeter {
			plain, trainer = append(plain, u.Plain), append(trainer, u.Trainer)
		}
	}
	if want, off := []float64{2, 1}, []float64{8, 0}; !slices.Equal(plain, want) || !slices.Equal(trainer, off) {
		t.Errorf("of two readings of one day, the later first, %v h count and %v are on a trainer, want %v and %v", plain, trainer, want, off)
	}
}
