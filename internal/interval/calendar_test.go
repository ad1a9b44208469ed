package interval

import (
	"testing"
	"time"
)

func on(t *testing.T, text string) time.Time {
	t.Helper()
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// 31 January 2026 and a month is 3 March by Go's AddDate (Go 1.26) and 28
// February by a rule that clamps; the other rows follow from the calendar.
func TestAddMonthsStaysInTheMonth(t *testing.T) {
	day := func(text string) time.Time { return on(t, text) }
	for _, c := range []struct {
		from string
		n    int
		want string
	}{
		{"2026-01-31", 1, "2026-02-28"},
		{"2024-01-31", 1, "2024-02-29"},
		{"2024-02-29", 12, "2025-02-28"},
		{"2024-02-29", 48, "2028-02-29"},
		{"2026-10-14", 12, "2027-10-14"},
		{"2026-12-31", 2, "2027-02-28"},
		{"2026-08-31", 1, "2026-09-30"},
		{"2026-03-31", -1, "2026-02-28"},
		{"2026-01-15", -1, "2025-12-15"},
		{"2026-05-31", 0, "2026-05-31"},
	} {
		if got := AddMonths(day(c.from), c.n); !got.Equal(day(c.want)) {
			t.Errorf("%s and %d months: got %s, want %s", c.from, c.n, got.Format(time.DateOnly), c.want)
		}
	}
	if got := day("2026-01-31").AddDate(0, 1, 0); !got.Equal(day("2026-03-03")) {
		t.Errorf("AddDate gives %s: the reason for this rule is gone", got.Format(time.DateOnly))
	}
}
