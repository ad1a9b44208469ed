package goahead_test

import (
	"slices"
	"testing"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/message"
)

// letters is what is in the outbox of the visit that the customer's word is wanted.
func (s *bikeShop) letters() (list []message.Note) {
	s.t.Helper()
	notes, err := message.Notes(ctx, s.tx, s.job.VisitID)
	s.must(err)
	return slices.DeleteFunc(notes[s.job.VisitID], func(n message.Note) bool { return n.Kind != message.GoAhead })
}

// One letter asks for everything that waits, so several proposals of one act are
// asked for once, and the next act overtakes what was not sent yet.
func TestWhatWaitsForTheCustomerIsAskedOnceForEachAct(t *testing.T) {
	s := opened(t, minor(10_000))
	_, err := s.tx.Exec(ctx, "update customer set mail = 'mirela@example.com'")
	s.must(err)
	s.due("wipers", 2800)
	if list := s.letters(); len(list) != 0 {
		t.Errorf("inside the limit %+v is asked", list)
	}
	by := s.act()
	for _, words := range []string{"axle", "bushings"} {
		finding := s.found(bench.FoundDue, bench.FoundSo, words)
		s.must(goahead.Propose(ctx, s.tx, by, false, goahead.New{FindingID: finding, Words: words, Minor: 5000}))
	}
	if list := s.letters(); len(list) != 1 || list[0].State != message.Waiting {
		t.Errorf("two of one act: %+v, want one that waits", list)
	}
	s.due("seals", 4000)
	if list := s.letters(); len(list) != 2 || list[0].State != message.Waiting || list[1].Why != message.Overtaken {
		t.Errorf("with the next act: %+v, want the newer one alone to wait", list)
	}
}
