package job

import (
	"errors"
	"slices"
	"testing"

	"damperdesk/internal/fault"
)

var allStages = append(slices.Clone(OpenStages), PickedUp, SentBack, Cancelled)

// Source: the stages of the design, "booked > dropped off (posted: arrived) >
// in the queue > on the bench > final check > ready for pickup > picked up or
// sent back, or cancelled"; that work may start straight from the counter and
// that a
// ready job may go back to its check, and one in its check to the bench, is
// common practice (no source).
func TestLegalMovesAndWhoMakesThem(t *testing.T) {
	const d, m, o = "desk", "mechanic", "owner"
	want := map[[2]string][]string{
		{Booked, DroppedOff}:    {d, o},
		{Booked, Arrived}:       {d, o},
		{DroppedOff, InQueue}:   {d, m, o},
		{Arrived, InQueue}:      {d, m, o},
		{DroppedOff, OnBench}:   {m},
		{Arrived, OnBench}:      {m},
		{InQueue, OnBench}:      {m},
		{OnBench, FinalCheck}:   {m},
		{FinalCheck, OnBench}:   {m},
		{FinalCheck, Ready}:     {m},
		{Ready, FinalCheck}:     {m},
		{Ready, PickedUp}:       {d, m, o},
		{Ready, SentBack}:       {d, m, o},
		{Booked, Cancelled}:     {d, o},
		{DroppedOff, Cancelled}: {d, o},
		{Arrived, Cancelled}:    {d, o},
		{InQueue, Cancelled}:    {d, o},
		{OnBench, Cancelled}:    {d, o},
		{FinalCheck, Cancelled}: {d, o},
		{Ready, Cancelled}:      {d, o},
	}
	for _, from := range allStages {
		for _, to := range allStages {
			roles, possible := want[[2]string{from, to}]
			for _, role := range []string{d, m, o} {
				_, err := legal(from, to, []string{role})
				var conflict fault.Conflict
				var forbidden fault.Forbidden
				switch may := slices.Contains(roles, role); {
				case may && err != nil:
					t.Errorf("%s > %s by %s: %v; want it made", from, to, role, err)
				case !possible && !errors.As(err, &conflict):
					t.Errorf("%s > %s by %s: %v; want a Conflict", from, to, role, err)
				case possible && !may && !errors.As(err, &forbidden):
					t.Errorf("%s > %s by %s: %v; want Forbidden", from, to, role, err)
				}
			}
		}
	}
	if len(moves) != len(want) {
		t.Errorf("%d moves in the table, want %d", len(moves), len(want))
	}
}

func TestOnlyTheCounterAndTheQueueAreMadeByHand(t *testing.T) {
	for _, c := range []struct {
		from  string
		roles []string
		want  []string
	}{
		{Booked, []string{"desk"}, nil}, // comes in with its visit
		{Booked, []string{"mechanic"}, nil},
		{DroppedOff, []string{"mechanic"}, []string{InQueue}},
		{InQueue, []string{"desk", "mechanic", "owner"}, nil},
		{FinalCheck, []string{"mechanic"}, nil},
		{Ready, []string{"owner"}, nil},
	} {
		if got := ByHand(c.from, c.roles); !slices.Equal(got, c.want) {
			t.Errorf("ByHand(%s, %s) = %q, want %q", c.from, c.roles, got, c.want)
		}
	}
}

func TestRegistriesHaveStableCodesAndWords(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Symptoms {
		if s.Code == "" || s.Words == "" || len(s.Asks) == 0 || len(s.Asks) > 4 || seen[s.Code] {
			t.Errorf("symptom %+v: want a code of its own, words and one to four questions", s)
		}
		asked := map[string]bool{}
		for _, q := range s.Asks {
			if q.Code == "" || q.Words == "" || len(q.Choices) == 1 || asked[q.Code] {
				t.Errorf("symptom %s asks %+v: want a code of its own, words, and several choices or none", s.Code, q)
			}
			asked[q.Code] = true
		}
		seen[s.Code] = true
	}
	// Common practice (no source): a fork stuck down may hold trapped pressure,
	// a creaking crown or a crash means an inspection first.
	for _, code := range []string{"stuck-down", "creaks", "crash"} {
		if s, ok := SymptomOf(code); !ok || s.Caution == "" {
			t.Errorf("symptom %s = %+v, %v; want a caution", code, s, ok)
		}
	}
	for _, e := range Endings {
		if e.Name == Done || e.Warning == "" {
			t.Errorf("ending %+v: want one that is not done, with a warning", e)
		}
	}
}
