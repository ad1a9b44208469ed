package shop

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

func TestHoursAreReplacedAsAWeek(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	if err := SetHours(ctx, tx, by, nil, everyDay(540, 1020)); err != nil {
		t.Fatal(err)
	}
	week := []Opening{{time.Tuesday, 540, 720}, {time.Tuesday, 720, 1440}, {time.Saturday, 0, 780}}
	backward := everyDay(540, 1020)
	slices.Reverse(backward)
	if err := SetHours(ctx, tx, by, backward, week); err != nil {
		t.Fatal(err)
	}
	for _, stale := range [][]Opening{nil, everyDay(540, 1020)} {
		if err := SetHours(ctx, tx, by, stale, everyDay(600, 660)); !errors.As(err, new(fault.Conflict)) {
			t.Errorf("over %d openings while others stand: %v, want a conflict", len(stale), err)
		}
	}
	h, err := GetHours(ctx, tx)
	if err != nil || !slices.Equal(h.Openings, week) {
		t.Errorf("read back %v, %v; want %v", h.Openings, err, week)
	}
	if err := SetHours(ctx, tx, by, week, nil); err == nil || !strings.Contains(err.Error(), "monday: Open on no day?") {
		t.Errorf("a week without hours: %v, want the question of Monday", err)
	}
	wantEvents(t, ctx, tx, "hours set", 2)
}

func TestHoursThatCannotStand(t *testing.T) {
	for _, c := range []struct {
		rule string
		week []Opening
		says string
	}{
		{"spans overlap", []Opening{{1, 660, 1020}, {1, 540, 720}}, "monday: 09:00 to 12:00 and 11:00 to 17:00 overlap."},
		{"closes before it opens", []Opening{{1, 720, 540}}, "monday: It closes at 09:00, which is not after 12:00"},
		{"closes as it opens", []Opening{{1, 720, 720}}, "monday: "},
		{"past midnight", []Opening{{1, 720, 1500}}, "monday: "},
		{"before midnight", []Opening{{1, -60, 540}}, "monday: "},
		{"two days at once", []Opening{{1, 720, 720}, {2, 720, 720}}, "tuesday: "},
	} {
		if err := checkWeek(c.week); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v gives %v, want a sentence with %q", c.rule, c.week, err, c.says)
		}
	}
	if err := checkWeek([]Opening{{7, 540, 1020}}); err == nil || refused(err) != nil {
		t.Errorf("the eighth day: %v, want an error that is no field's", err)
	}
	for _, week := range UsualWeeks {
		if err := checkWeek(week); err != nil {
			t.Errorf("the usual week %v: %v", week, err)
		}
	}
}

func TestTheDatabaseRefusesOverlappingHours(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	_, err := tx.Exec(ctx, "insert into opening values (1, 540, 720), (1, 660, 1020)")
	if err == nil || !strings.Contains(err.Error(), "opening_no_overlap") {
		t.Errorf("overlapping rows: %v", err)
	}
}
