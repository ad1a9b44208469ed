package plan

import (
	"math"
	"slices"
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/lineup"
)

// More is work that is proposed beyond what a job is here for.
type More struct {
	JobID   int64
	Minutes int        // at the bench
	PartsOn *time.Time // the day its parts are expected, at midnight UTC; nil: it waits for none
	Asks    bool       // it waits for the customer's word first
}

// Effect is what more work does to the promise of a visit. The Promise to say
// with it is never before the one that stands; zero: no day can be worked out.
type Effect struct {
	Proposal
	Promised time.Time // as it stands
}

// Moves reports whether more time has to be asked for.
func (e Effect) Moves() bool { return e.Promise.After(e.Promised) }

// Adding says what more work on a job does to what is promised: nothing, where
// that leaves the slack and breaks no other promise, else the first closing time
// after it that does. beside is what comes with it on jobs of the same visit. ok
// is false for a job that is not in line.
func (p *Plan) Adding(m More, beside ...More) (e Effect, ok bool) {
	t, ok := p.tasks[m.JobID]
	if !ok {
		return e, false
	}
	grown := map[int64]task{}
	for _, more := range append([]More{m}, beside...) {
		of, seen := grown[more.JobID]
		if !seen {
			if of, ok = p.tasks[more.JobID]; !ok {
				continue
			}
		}
		grown[more.JobID] = p.taking(of, more)
	}
	jobs := p.ofVisit(t.VisitID)
	for i := range jobs {
		if of, ok := grown[jobs[i].ID]; ok {
			jobs[i] = p.inLine(of)
		}
	}
	closings := append([]time.Time{t.PromisedAt}, p.Closings(p.At, furthest)...)
	closings = slices.DeleteFunc(closings, func(at time.Time) bool { return at.Before(t.PromisedAt) })
	e.Promised = t.PromisedAt
	e.Proposal = p.first(jobs, closings, func(last lineup.Place) string {
		if of, ok := grown[last.ID]; ok {
			return p.why(of, last)
		}
		return p.why(p.tasks[last.ID], last)
	})
	return e, true
}

// taking is a job with more work on it.
func (p *Plan) taking(t task, m More) task {
	t.more.Minutes += m.Minutes
	t.holds = slices.Clone(t.holds)
	if m.PartsOn != nil {
		t.holds = append(t.holds, wait{JobID: t.ID, Kind: job.WaitingOnParts, ExpectedOn: m.PartsOn, At: p.At})
	}
	if m.Asks { // again, where it waits for them already
		t.holds = slices.DeleteFunc(t.holds, func(h wait) bool { return h.Kind == job.WaitingOnCustomer && h.ExpectedOn == nil })
		t.holds = append(t.holds, wait{JobID: t.ID, Kind: job.WaitingOnCustomer, At: p.At})
	}
	return t
}

// Extra is how many minutes a service takes on a job beyond what it is here for.
func (p *Plan) Extra(jobID int64, service string) int {
	w := p.tasks[jobID].work()
	if service == "" || slices.Contains(w.Services, service) {
		return 0
	}
	was, _ := p.times.For(w)
	w.Services = append(slices.Clone(w.Services), service)
	with, _ := p.times.For(w)
	return max(0, int(math.Ceil(with-was-1e-9)))
}

// On is the time of a day that is promised: when the shop last closes on it,
// else that of another promise.
func (p *Plan) On(day, like time.Time) time.Time {
	if at, ok := p.closes(day); ok && p.day(at.Add(-1)).Equal(day) {
		return at
	}
	h, m, _ := like.In(p.zone).Clock()
	return p.clock(day, time.Duration(h)*time.Hour+time.Duration(m)*time.Minute)
}

// Day is the day of a moment in the shop's zone, at midnight UTC.
func (p *Plan) Day(at time.Time) time.Time { return p.day(at.Add(-1)) }

// awaited is what a job waits for: also parts of what was agreed, where nobody put
// it down as waiting for them and their day is to come, and the word on its claim.
func (p *Plan) awaited(t task) []wait {
	list := slices.Clone(t.holds)
	if t.Unopened {
		list = append(list, wait{JobID: t.ID, Kind: toAuthorise, At: t.OpenedAt})
	}
	waits := slices.ContainsFunc(t.holds, func(h wait) bool { return h.Kind == job.WaitingOnParts })
	if waits || t.more.PartsOn == nil || !t.more.PartsOn.After(p.day(p.At)) {
		return list
	}
	return append(list, wait{JobID: t.ID, Kind: job.WaitingOnParts, ExpectedOn: t.more.PartsOn, At: p.At})
}
