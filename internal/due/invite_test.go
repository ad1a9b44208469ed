package due_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"damperdesk/internal/due"
)

func TestWhomToInvite(t *testing.T) {
	h := time.Hour
	lowers := func(unit, customer int64) due.Candidate { return due.Candidate{unit, "lower-leg", customer, h} }
	list := []due.Candidate{lowers(1, 7), {2, "full", 8, 4 * h}, lowers(3, 9), lowers(4, 7), lowers(5, 6)}
	for _, c := range []struct {
		name  string
		free  []time.Duration
		share float64
		most  int
		want  []int
	}{
		{"no weeks", nil, 1, 0, nil},
		{"the present week is no room", []time.Duration{40 * h}, 1, 0, nil},
		{"all fit", []time.Duration{0, 40 * h}, 1, 0, []int{0, 1, 2, 3, 4}},
		{"a customer's two go together", []time.Duration{0, 2 * h}, 1, 0, []int{0, 3}},
		{"not one of a customer's two", []time.Duration{0, h}, 1, 0, []int{2}},
		{"what is too long is passed over", []time.Duration{0, 2 * h, 2 * h}, 1, 0, []int{0, 2, 3, 4}},
		{"half of them come", []time.Duration{0, 3 * h}, 0.5, 0, []int{0, 1, 3}},
		{"later weeks are no room", []time.Duration{0, h, 0, 40 * h}, 1, 0, []int{2}},
		{"three, said by hand", []time.Duration{0, 0}, 1, 3, []int{0, 1, 3}},
		{"one, said by hand", nil, 1, 1, []int{1}},
	} {
		if got := due.Choose(list, c.free, c.share, c.most); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}

// Inviting never floods the bench, never splits a customer, and leaves nobody
// out whose work would have fitted still.
func TestInvitationsFillAndDoNotFlood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hours := func(label string, most int) time.Duration {
			return time.Duration(rapid.IntRange(0, most*4).Draw(t, label)) * time.Hour / 4
		}
		var list []due.Candidate
		for i := range rapid.IntRange(0, 12).Draw(t, "services") {
			list = append(list, due.Candidate{int64(i), "lower-leg", rapid.Int64Range(1, 6).Draw(t, "customer"), hours("work", 5)})
		}
		var free []time.Duration
		var room float64
		for i := range rapid.IntRange(0, 4).Draw(t, "weeks") {
			free = append(free, hours("free", 12))
			if i == 1 || i == 2 {
				room += free[i].Hours()
			}
		}
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		picked := due.Choose(list, free, share, 0)
		theirs := map[int64]float64{}
		for _, c := range list {
			theirs[c.CustomerID] += c.Work.Hours() * share
		}
		in := map[int64]int{}
		for _, i := range picked {
			room -= list[i].Work.Hours() * share
			in[list[i].CustomerID]++
		}
		if room < -1e-6 {
			t.Fatalf("%v of %v with %v free: %v h too many", picked, list, free, -room)
		}
		for id, work := range theirs {
			all := 0
			for _, c := range list {
				if c.CustomerID == id {
					all++
				}
			}
			if in[id] != 0 && in[id] != all {
				t.Fatalf("customer %d: %d of %d", id, in[id], all)
			}
			if in[id] == 0 && work < room-1e-6 {
				t.Fatalf("customer %d has %v h likely and is left out of %v h of room", id, work, room)
			}
		}
	})
}

func TestLikelyWorkFillsOneWeekAfterTheOther(t *testing.T) {
	h := time.Hour
	in, over := due.Spread(7*h, []time.Duration{9 * h, 4 * h, 2 * h})
	if !slices.Equal(in, []time.Duration{0, 4 * h, 2 * h}) || over != h {
		t.Errorf("got %v and %v over, want 0, 4 h, 2 h and 1 h over", in, over)
	}
}

func TestTheShareWhoCame(t *testing.T) {
	if share, counted := due.ShareOf(1, 19); share != due.Comes || counted {
		t.Errorf("of 19: got %v, %v", share, counted)
	}
	if share, counted := due.ShareOf(13, 20); share != 0.65 || !counted {
		t.Errorf("of 20: got %v, %v", share, counted)
	}
}
