package bench

import (
	"testing"
	"time"
)

// Ten minutes, or other work: common practice (no source).
func TestWhoIsAloneLooksAgainLater(t *testing.T) {
	done := time.Date(2026, 10, 13, 13, 12, 0, 0, time.UTC)
	for _, c := range []struct {
		after  time.Duration
		worked bool
		may    bool
	}{
		{0, false, false}, {9*time.Minute + 59*time.Second, false, false}, {10 * time.Minute, false, true}, {48 * time.Hour, false, true},
		{0, true, true}, {time.Minute, true, true},
		{-time.Hour, false, false}, // the clock was set back
	} {
		if got := mayLookAgain(done, done.Add(c.after), c.worked); got != c.may {
			t.Errorf("%s after the step, other work since: %v: may look again: %v, want %v", c.after, c.worked, got, c.may)
		}
	}
}

func TestWhatWaitsForItsSecondCheck(t *testing.T) {
	signed := &Signoff{}
	s := Sheet{Steps: []Step{
		{ID: 1, SecondCheck: true},
		{ID: 2, SecondCheck: true, Done: signed},
		{ID: 3, Done: signed},
		{ID: 4, SecondCheck: true, Done: signed, Checked: signed},
		{ID: 5, SecondCheck: true, StopHere: true, Done: signed},
	}}
	list := s.Unchecked()
	if len(list) != 2 || list[0].ID != 2 || list[1].ID != 5 {
		t.Errorf("waiting: %v, want steps 2 and 5", list)
	}
}
