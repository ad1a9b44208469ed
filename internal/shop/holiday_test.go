package shop

import (
	"errors"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

// The days are those that gov.uk/bank-holidays, the US Office of Personnel
// Management, the Bavarian ministry of the interior and the almanac of the
// University of Helsinki publish; from memory, but those of 2024, which were
// compared with the lists of date.nager.at and the documentation of Yasumi.
func TestHolidaysAsPublished(t *testing.T) {
	for _, c := range []struct {
		region string
		year   int
		want   string
	}{
		{"GB-EAW", 2026, "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-26 12-28"}, // 26 is a Saturday, kept on the 28th
		{"GB-EAW", 2027, "01-01 03-26 03-29 05-03 05-31 08-30 12-25 12-26 12-27 12-28"},
		{"US", 2026, "01-01 01-19 02-16 05-25 06-19 07-03 07-04 09-07 10-12 11-11 11-26 12-25"}, // 4 July is a Saturday, kept on the 3rd
		{"GB-SCT", 2024, "01-01 01-02 03-29 05-06 05-27 08-05 11-30 12-02 12-25 12-26"},         // 30 November is a Saturday
		{"GB-SCT", 2023, "01-01 01-02 01-03 04-07 05-01 05-29 08-07 11-30 12-25 12-26"},         // 1 January is a Sunday; the coronation of that year is left out
		{"GB-SCT", 2027, "01-01 01-02 01-04 03-26 05-03 05-31 08-02 11-30 12-25 12-26 12-27 12-28"},
		{"FI", 2024, "01-01 01-06 03-29 03-31 04-01 05-01 05-09 05-19 06-22 11-02 12-06 12-25 12-26"},
		{"FI", 2026, "01-01 01-06 04-03 04-05 04-06 05-01 05-14 05-24 06-20 10-31 12-06 12-25 12-26"},
		{"DE-BY", 2026, "01-01 01-06 04-03 04-06 05-01 05-14 05-25 06-04 10-03 11-01 12-25 12-26"},
	} {
		r, _ := RegionOf(c.region)
		var days []string
		for _, h := range r.Holidays(c.year) {
			days = append(days, h.Day.Format("01-02"))
		}
		if got := strings.Join(days, " "); got != c.want {
			t.Errorf("%s %d: %s, want %s", c.region, c.year, got, c.want)
		}
	}
}

func TestEveryRegionHasHolidaysAndAPlace(t *testing.T) {
	codes := map[string]bool{}
	for i, r := range Regions {
		if n := len(r.Holidays(2027)); n < 6 || n > 25 || codes[r.Code] {
			t.Errorf("%s has %d holidays, its code before: %v", r.Name, n, codes[r.Code])
		}
		codes[r.Code] = true
		if i > 0 && Regions[i-1].Name > r.Name && r.Name != "Germany: Baden-Württemberg" {
			t.Errorf("%s stands after %s", r.Name, Regions[i-1].Name)
		}
	}
}

func TestAShopClosesOnItsHolidaysButThoseItOpensOn(t *testing.T) {
	ctx, tx := t.Context(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "owner")
	must(t, Save(ctx, tx, by, sample()))
	week := UsualWeeks[1] // Monday to Saturday
	if err := SetHours(ctx, tx, by, nil, week); err != nil {
		t.Fatal(err)
	}
	boxing, lieu := utc(t, "2026-12-26 00:00"), utc(t, "2026-12-28 00:00")
	open := func(day time.Time) bool {
		t.Helper()
		h, err := GetHours(ctx, tx)
		if err != nil {
			t.Fatal(err)
		}
		return len(h.Calendar(time.UTC).Day(day)) > 0
	}
	if !open(boxing) {
		t.Error("without a region it is closed on 26 December")
	}
	if err := SetHolidays(ctx, tx, by, "", "GB-EAW"); err != nil {
		t.Fatal(err)
	}
	if open(boxing) || open(lieu) || !open(utc(t, "2026-12-29 00:00")) {
		t.Errorf("open on 26 %v, 28 %v", open(boxing), open(lieu))
	}
	if err := OpenOnHoliday(ctx, tx, by, boxing, true); err != nil {
		t.Fatal(err)
	}
	if !open(boxing) || open(lieu) {
		t.Errorf("opened on 26: open on 26 %v, 28 %v", open(boxing), open(lieu))
	}
	if err := OpenOnHoliday(ctx, tx, by, boxing, false); err != nil || open(boxing) {
		t.Errorf("closed again: open %v, %v", open(boxing), err)
	}
	for rule, err := range map[string]error{
		"the region that was seen is another": SetHolidays(ctx, tx, by, "", "US"),
		"no holiday":                          OpenOnHoliday(ctx, tx, by, utc(t, "2026-12-27 00:00"), true),
	} {
		if !errors.As(err, new(fault.Conflict)) {
			t.Errorf("%s: %v, want a conflict", rule, err)
		}
	}
	if err := SetHolidays(ctx, tx, by, "GB-EAW", "Atlantis"); !errors.As(err, new(*fault.Invalid)) {
		t.Errorf("an unknown region: %v", err)
	}
	wantEvents(t, ctx, tx, "holiday settled", 2)
}
