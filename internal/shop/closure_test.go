package shop

import (
	"context"
	"errors"
	"slices"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

func TestClosuresComeAndGo(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	day := func(s string) time.Time { return utc(t, s+" 00:00") }
	eve, year := day("2026-12-24"), day("2026-12-31")
	for _, b := range []Break{
		{eve, eve, 720, 1440}, {eve, eve, 720, 800}, // never shorter
		{day("2026-12-25"), day("2027-01-02"), 0, 1440}, // over the end of the year
		{year, year, 900, 1440},
	} {
		if err := AddBreak(ctx, tx, by, b); err != nil {
			t.Fatal(err)
		}
	}
	breaks := func(want ...Break) {
		t.Helper()
		h, err := GetHours(ctx, tx)
		if got := h.Breaks(); err != nil || !slices.Equal(got, want) {
			t.Errorf("closed %v, %v; want %v", got, err, want)
		}
	}
	breaks(Break{eve, eve, 720, 1440}, Break{day("2026-12-25"), day("2027-01-02"), 0, 1440}, Break{year, year, 900, 1440})
	if err := RemoveBreak(ctx, tx, by, Break{year, year, 0, 1440}); err != nil { // one day out of the middle
		t.Fatal(err)
	}
	breaks(Break{eve, eve, 720, 1440}, Break{day("2026-12-25"), day("2026-12-30"), 0, 1440},
		Break{year, year, 900, 1440}, Break{day("2027-01-01"), day("2027-01-02"), 0, 1440})
	if err := RemoveBreak(ctx, tx, by, Break{eve, eve, 720, 800}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("removing what is not there: %v, want a conflict", err)
	}
	wantEvents(t, ctx, tx, "closure added", 4)
	wantEvents(t, ctx, tx, "closure removed", 1)
}

func TestClosuresThatCannotStand(t *testing.T) {
	day := utc(t, "2026-12-24 00:00")
	for _, c := range []struct {
		rule  string
		b     Break
		field []string
	}{
		{"nothing of a day", Break{day, day, 720, 720}, []string{"until"}},
		{"ends before it begins", Break{day, day, 780, 720}, []string{"until"}},
		{"past the end of the day", Break{day, day, 780, 1500}, []string{"until"}},
		{"the last day first", Break{day, day.AddDate(0, 0, -1), 0, 1440}, []string{"last"}},
		{"longer than a year", Break{day, day.AddDate(1, 0, 1), 0, 1440}, []string{"last"}},
		{"both wrong", Break{day, day.AddDate(0, 0, -1), 5, 5}, []string{"last", "until"}},
		{"a year", Break{day, day.AddDate(1, 0, 0), 0, 1440}, nil},
	} {
		if got := refused(c.b.check()); !slices.Equal(got, c.field) {
			t.Errorf("%s: refused for %v, want %v", c.rule, got, c.field)
		}
	}
}

// Days in a row stay in a row over a day of 23 h and one of 25 h (London
// 2026-03-29 and 2026-10-25, zdump with tzdata 2025b).
func TestBreaksRunOverAChangeOfTheClocks(t *testing.T) {
	london := zone(t, "Europe/London")
	for _, first := range []string{"2026-03-28", "2026-10-24"} {
		var h Hours
		from := utc(t, first+" 00:00")
		for n := range 4 {
			h.Closures = append(h.Closures, Closure{from.AddDate(0, 0, n).In(time.UTC), 0, DayEnd})
		}
		h.Openings = everyDay(540, 1020)
		if got := h.Breaks(); len(got) != 1 || !got[0].Last.Equal(from.AddDate(0, 0, 3)) {
			t.Errorf("from %s: %v, want one of four days", first, got)
		}
		next, _, _ := h.Calendar(london).Next(from)
		if want := from.AddDate(0, 0, 4).Format(time.DateOnly); next.In(london).Format("2006-01-02 15:04") != want+" 09:00" {
			t.Errorf("open again at %s, want %s 09:00", next.In(london), want)
		}
	}
}

func TestAPromiseHoldsWhereTheShopIsOpenUntilThen(t *testing.T) {
	london := zone(t, "Europe/London")
	h := Hours{
		Openings: []Opening{{time.Sunday, 600, 960}, {time.Tuesday, 600, 780}, {time.Tuesday, 840, 1080}, {time.Friday, 1080, 1440}},
		Closures: []Closure{{utc(t, "2026-10-20 00:00"), 840, 1440}, {utc(t, "2026-10-27 00:00"), 0, 1440}},
	}
	for _, c := range []struct {
		rule, at string
		want     bool
	}{
		{"as it closes", "2026-10-13 17:00", true},
		{"a minute later", "2026-10-13 17:01", false},
		{"in the break at midday", "2026-10-13 12:30", true},
		{"before it opens", "2026-10-13 07:00", true},
		{"on a day of the week that is closed", "2026-10-14 12:00", false},
		{"after a half day", "2026-10-20 16:00", false},
		{"in a half day", "2026-10-20 12:00", true},
		{"on a day off", "2026-10-27 12:00", false},
		{"at midnight, the end of Friday", "2026-10-16 23:00", true},
		{"as it closes on the day of 23 h", "2026-03-29 15:00", true},
		{"as it closes on the day of 25 h", "2026-10-25 16:00", true},
		{"a minute later on the day of 25 h", "2026-10-25 16:01", false},
	} {
		if got := h.Calendar(london).OpenUntil(utc(t, c.at)); got != c.want {
			t.Errorf("%s, %s in UTC: %v, want %v", c.rule, c.at, got, c.want)
		}
	}
}
