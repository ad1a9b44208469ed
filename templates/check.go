package templates

import (
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/staff"
)

// ChecksPage is every step of a sheet that waits for its second check, each to
// be ticked by itself, and who looked.
type ChecksPage struct {
	Base
	Sheet     bench.Sheet
	Steps     []*bench.Step
	Mechanics []staff.Person // to choose from, on a tablet
}

func (p ChecksPage) mayWork() bool { return mayWork(p.Base, p.Sheet) }

func checksPath(jobID int64) string { return benchPath(jobID) + "/checks" }

// ownWork reports whether one of the steps was done by whoever is signed in.
func (p ChecksPage) ownWork() bool { return p.did(p.Person.ID) != "" }

// did names the steps that somebody did: "7 and 9"; empty for none.
func (p ChecksPage) did(person int64) string {
	var seqs []string
	for _, s := range p.Steps {
		if s.Done.ActorID == person {
			seqs = append(seqs, num(s.Seq))
		}
	}
	if n := len(seqs); n > 1 {
		return strings.Join(seqs[:n-1], ", ") + " and " + seqs[n-1]
	}
	return strings.Join(seqs, "")
}

// note says beside a mechanic what keeps them from checking.
func (p ChecksPage) note(who staff.Person) string {
	switch did := p.did(who.ID); {
	case !who.HasPIN:
		return "no PIN yet: sign in with the pass-phrase and set one"
	case did != "":
		return "did " + did + ", so somebody else checks it"
	}
	return ""
}

// checkFacts say what was done and by whom.
func (p ChecksPage) checkFacts(s *bench.Step) string {
	words := s.Done.Actor + ", " + p.When(s.Done.At)
	for _, more := range []string{p.got(*s), with(*s.Done), s.Done.Reason} {
		if more != "" {
			words += "; " + more
		}
	}
	return words
}
