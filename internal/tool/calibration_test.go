package tool

import (
	"context"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
)

// Twelve months: ISO 6789-1:2017, by a calibration laboratory's page
// (mobiletestncal.com.au, "How often should you calibrate your torque wrench").
// Months clamp to the last day of a shorter one; 30 days ahead is soon: common
// practice (no source).
func TestWhenACalibrationIsDueAgain(t *testing.T) {
	for _, c := range []struct {
		calibrated, today, due string
		soon                   bool
		trouble                string
	}{
		{"2026-03-02", "2026-10-13", "2027-03-02", false, ""},
		{"2026-03-02", "2027-01-30", "2027-03-02", false, ""},
		{"2026-03-02", "2027-01-31", "2027-03-02", true, ""},
		{"2026-03-02", "2027-03-02", "2027-03-02", true, ""},
		{"2026-03-02", "2027-03-03", "2027-03-02", false, "It was last calibrated on 2 March 2026, more than 12 months ago."},
		{"2024-02-29", "2025-02-28", "2025-02-28", true, ""},
		{"2024-02-29", "2025-03-01", "2025-02-28", false, "It was last calibrated on 29 February 2024, more than 12 months ago."},
	} {
		w := wrench("3", 2, 15, 0.1, calibrated(c.calibrated))
		now := day(c.today).Add(23 * time.Hour)
		if got := w.Due(); got == nil || !got.Equal(day(c.due)) {
			t.Errorf("calibrated %s: due %v, want %s", c.calibrated, got, c.due)
		}
		if soon, trouble := w.DueSoon(now), w.Trouble(now); soon != c.soon || trouble != c.trouble {
			t.Errorf("calibrated %s, on %s: soon %v, %q; want %v, %q", c.calibrated, c.today, soon, trouble, c.soon, c.trouble)
		}
	}
}

func TestWhatDidNotPassHasNoDayItIsGoodFor(t *testing.T) {
	failed := wrench("3", 2, 15, 0.1, func(t *Tool) { t.Passed = false })
	fresh := wrench("3", 2, 15, 0.1, func(t *Tool) { t.LastCalibrated = nil })
	away := wrench("3", 2, 15, 0.1, func(t *Tool) { t.State = Away })
	if failed.Due() != nil || fresh.Due() != nil || failed.DueSoon(today) || fresh.DueSoon(today) {
		t.Errorf("due %v and %v, want never", failed.Due(), fresh.Due())
	}
	for want, w := range map[string]Tool{
		"It did not pass its last calibration on 2 March 2026.": failed,
		"It has never been calibrated.":                         fresh,
		"It is away.":                                           away,
	} {
		if got := w.Trouble(today); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestWhatWasSignedSinceTheLastPassIsInDoubt(t *testing.T) {
	of := func(days ...string) (list []Calibration) {
		for _, d := range days { // newest first; "+" passed
			list = append(list, Calibration{DoneOn: day(d[1:]), Passed: d[0] == '+'})
		}
		return list
	}
	for _, c := range []struct {
		list        []Calibration
		since, till time.Time
		ok          bool
	}{
		{nil, time.Time{}, time.Time{}, false},
		{of("+2026-03-02"), time.Time{}, time.Time{}, false},
		{of("-2026-09-01", "+2026-03-02", "+2025-03-01"), day("2026-03-02"), time.Time{}, true},
		{of("-2026-09-01", "-2026-08-01", "+2025-03-01"), day("2025-03-01"), time.Time{}, true},
		{of("-2026-09-01"), time.Time{}, time.Time{}, true},
		// As found it failed, as left it passed: what it did before stays in doubt.
		{of("+2026-09-01", "-2026-09-01", "+2026-03-02"), day("2026-03-02"), day("2026-09-01"), true},
		{of("+2026-03-02", "-2026-03-01"), time.Time{}, day("2026-03-01"), true},
	} {
		if got, ok := Doubted(c.list); ok != c.ok || !got.Since.Equal(c.since) || !got.Till.Equal(c.till) {
			t.Errorf("%+v: got %v, %v; want %v till %v, %v", c.list, got, ok, c.since, c.till, c.ok)
		}
	}
}

func TestOfTwoCalibrationsOnOneDayTheLaterEntryCounts(t *testing.T) {
	ctx, tx := context.Background(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "mechanic")
	id, err := Add(ctx, tx, by, wrench("3", 2, 15, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	for _, passed := range []bool{true, false} {
		if err := Calibrate(ctx, tx, dbtest.Act(t, tx, by), id, NewCalibration{DoneOn: day("2026-03-02"), Certificate: " C-118 ", Passed: passed}); err != nil {
			t.Fatal(err)
		}
	}
	list, err := Calibrations(ctx, tx, id)
	if err != nil || len(list) != 2 || list[0].Passed || !list[1].Passed || list[0].Certificate != "C-118" || list[0].By == "" {
		t.Errorf("got %+v, %v", list, err)
	}
	if got, err := Get(ctx, tx, id); err != nil || got.Passed {
		t.Errorf("the tool passed: %+v, %v", got, err)
	}
}
