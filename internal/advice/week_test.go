package advice

import (
	"reflect"
	"testing"
	"time"
)

// Source: the calendar: 2 March 2026 is a Monday.
func TestWeeksOfTheLedger(t *testing.T) {
	zone, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	at := func(month time.Month, day, hour int) time.Time {
		return time.Date(2026, month, day, hour, 0, 0, 0, zone)
	}
	monday := func(month time.Month, day int) time.Time { return time.Date(2026, month, day, 0, 0, 0, 0, time.UTC) }
	got := Weekly(at(3, 4, 9), at(3, 31, 23), []Use{
		{monday(3, 2), 5}, {monday(3, 9), 4}, {monday(3, 16), -1},
		{monday(3, 30), 9}, // the running week
	}, []Spell{
		{at(3, 5, 18), at(3, 11, 8)}, // Thursday evening to Wednesday
		{at(3, 20, 23), time.Time{}},
	}, zone)
	want := []Week{{5, 4}, {3, 2}, {0, 3}, {0, 7}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := Weekly(at(3, 30, 0), at(4, 5, 23), nil, nil, zone); got != nil {
		t.Errorf("no week is complete yet: %v", got)
	}
}
