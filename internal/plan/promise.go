package plan

import (
	"cmp"
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/lineup"
)

// Proposal is the first day with room for units that are about to come.
type Proposal struct {
	Promise  time.Time // when the shop closes on that day; zero: there is none
	Expected time.Time // when the work is expected to be ready
	Minutes  float64   // of work at the bench
	Known    int       // finished jobs that its minutes follow from, of the service with the fewest
	Why      string
	Slack    Slack
}

// furthest is how many days ahead are looked at: half a year of six-day weeks.
const furthest = 156

// Propose looks for the first closing time that leaves the slack after the work
// is expected, and breaks no promise that holds and makes none less sure than
// the shop wants, by standing before others in line. from is when the units come; the zero time is now.
func (p *Plan) Propose(units []Unit, from time.Time) Proposal {
	jobs, tasks, known := p.newJobs(units, from)
	proposal := p.propose(jobs, from, func(last lineup.Place) string { return p.why(tasks[last.ID-newest], last) })
	proposal.Known = known
	return proposal
}

// ProposeVisit is the same for a visit whose promise moves.
func (p *Plan) ProposeVisit(visitID int64) Proposal {
	return p.propose(p.ofVisit(visitID), time.Time{}, func(last lineup.Place) string { return p.why(p.tasks[last.ID], last) })
}

func (p *Plan) propose(jobs []lineup.Job, from time.Time, why func(lineup.Place) string) Proposal {
	return p.first(jobs, p.Closings(from, furthest), why)
}

// first takes the first of closing times that will do.
func (p *Plan) first(jobs []lineup.Job, closings []time.Time, why func(lineup.Place) string) Proposal {
	proposal := Proposal{Slack: p.Slack}
	for _, j := range jobs {
		proposal.Minutes += j.Left.Minutes()
	}
	behind, ok := p.with(due(jobs, time.Time{}))
	if !ok || lastOf(behind, jobs).Never() {
		return proposal
	}
	for _, closes := range closings {
		places, _ := p.with(due(jobs, closes))
		last := lastOf(places, jobs)
		if until, ok := p.open.Add(last.Finish, p.Slack.For); ok && !until.After(closes) && p.leavesBe(places, behind, jobs) {
			proposal.Promise, proposal.Expected, proposal.Why = closes, last.Finish, why(last)
			break
		}
	}
	return proposal
}

// newest is the id of what has none yet: of equals it comes last.
const newest = 1 << 62

// newJobs are those of units that are about to come, with what they are.
func (p *Plan) newJobs(units []Unit, from time.Time) (jobs []lineup.Job, tasks []task, known int) {
	for i, u := range units {
		minutes, n := p.times.For(u.Work)
		if i == 0 || n < known {
			known = n
		}
		t := p.coming(u, from)
		tasks = append(tasks, t)
		jobs = append(jobs, lineup.Job{ID: newest + int64(i), Left: t.left(minutes), From: latest(from, p.released(t)), Mechanic: p.known(u.MechanicID),
			Skills: p.skillsOf(t), Waits: p.waitsOf(t, minutes)})
	}
	return jobs, tasks, known
}

func (p *Plan) coming(u Unit, from time.Time) task {
	u.Facts.Kind = cmp.Or(u.Facts.Kind, "fork") // until somebody says what it is
	t := task{Services: u.Services, MechanicID: u.MechanicID, stands: p.standsBefore(u.Services, u.Facts)}
	if from.After(p.At) {
		day := p.day(from)
		t.Stage, t.BookedFor = job.Booked, &day
	}
	t.Unopened, t.OpenedAt = u.Unopened, p.At
	t.holds = p.awaited(t)
	if u.Lacks {
		t.holds = append(t.holds, wait{Kind: job.WaitingOnParts, ExpectedOn: u.PartsOn, At: p.At})
	}
	return t
}

func due(jobs []lineup.Job, at time.Time) []lineup.Job {
	list := make([]lineup.Job, len(jobs))
	for i, j := range jobs {
		j.Due = at
		list[i] = j
	}
	return list
}

// with gives the places with jobs put in.
func (p *Plan) with(jobs []lineup.Job) ([]lineup.Place, bool) {
	line, err := p.line.With(jobs...)
	if err != nil {
		return nil, false // of a mechanic nobody has heard of, and known lets none through
	}
	return line.Forward(), true
}

func idsOf(jobs []lineup.Job) map[int64]bool {
	ids := map[int64]bool{}
	for _, j := range jobs {
		ids[j.ID] = true
	}
	return ids
}

// lastOf is the place of the one of these jobs that is finished last, or never.
func lastOf(places []lineup.Place, jobs []lineup.Job) (last lineup.Place) {
	ours := idsOf(jobs)
	for _, place := range places {
		if !ours[place.ID] {
			continue
		}
		if place.Never() {
			return place
		}
		if last.ID == 0 || place.Finish.After(last.Finish) {
			last = place
		}
	}
	return last
}

// leavesBe is whether what was promised still holds where it did, and is as
// sure where it was, with the newcomers behind all others. Even there one may
// be begun while nothing else can be, and be in the way of what comes then.
func (p *Plan) leavesBe(places, behind []lineup.Place, but []lineup.Job) bool {
	ours, before := idsOf(but), map[int64]lineup.Place{}
	for _, place := range behind {
		before[place.ID] = place
	}
	for _, now := range places {
		was := before[now.ID]
		if ours[now.ID] || was.Late() {
			continue
		}
		limit := p.latest[now.ID]
		if was.Finish.After(limit) {
			limit = was.Due
		}
		if now.Never() || now.Finish.After(limit) {
			return false
		}
	}
	return true
}

// closes is when the shop last closes on a day, or on the next on which it
// opens at all.
func (p *Plan) closes(day time.Time) (at time.Time, ok bool) {
	next := latest(p.clock(day, 0), p.At)
	for {
		_, to, opens := p.open.Next(next)
		if !opens || ok && !p.day(to.Add(-1)).Equal(p.day(at.Add(-1))) {
			return at, ok
		}
		at, ok, next = to, true, to
	}
}

// Closings are the next n times the shop closes, each on a day of its own, from
// the day of a moment on or from now.
func (p *Plan) Closings(from time.Time, n int) (list []time.Time) {
	day := p.day(latest(p.At, from))
	for range n {
		at, ok := p.closes(day)
		if !ok {
			break
		}
		list = append(list, at)
		day = p.day(at.Add(-1)).AddDate(0, 0, 1)
	}
	return list
}

// Outlook is what the plan says of a promise that somebody thinks of giving.
type Outlook struct {
	Expected time.Time     // zero: never
	Spare    time.Duration // open time from then to the promise; below zero where it comes after it
	Slack    Slack
	Kept     float64 // share of such promises that were kept; where Known
	Known    bool
	Pushed   []Push
	Why      string
}

// Push is a job that is ready later for a promise given to another.
type Push struct {
	Expected           // as it is without
	Now      time.Time // when it would be ready
	Breaks   bool      // its promise held, and would not
}

// Weigh says what comes of promising units by a time. For the day itself they
// go before all but what is on the bench.
func (p *Plan) Weigh(units []Unit, from, promised time.Time) Outlook {
	jobs, tasks, _ := p.newJobs(units, from)
	return p.weigh(jobs, promised, func(last lineup.Place) string { return p.why(tasks[last.ID-newest], last) })
}

// WeighVisit says what comes of moving the promise of a visit.
func (p *Plan) WeighVisit(visitID int64, promised time.Time) Outlook {
	return p.weigh(p.ofVisit(visitID), promised, func(last lineup.Place) string { return p.why(p.tasks[last.ID], last) })
}

// ofVisit are the jobs of a visit that are in line.
func (p *Plan) ofVisit(id int64) (jobs []lineup.Job) {
	for _, t := range p.tasks {
		if t.VisitID == id {
			jobs = append(jobs, p.inLine(t))
		}
	}
	return jobs
}

// far is how far from now a promise is weighed. One typed further off, or not
// typed at all, weighs as one at that distance: every day between costs time.
const far = 366 * 24 * time.Hour

func (p *Plan) weigh(jobs []lineup.Job, promised time.Time, why func(lineup.Place) string) Outlook {
	o := Outlook{Slack: p.Slack}
	if d := promised.Sub(p.At); d.Abs() > far {
		promised = p.At.Add(max(-far, min(far, d)))
	}
	jobs = due(jobs, promised)
	if p.day(promised.Add(-1)).Equal(p.day(p.At)) {
		for i := range jobs {
			jobs[i].Rank = max(jobs[i].Rank, lineup.SameDay)
		}
	}
	places, ok := p.with(jobs)
	if last := lastOf(places, jobs); ok && !last.Never() {
		o.Expected, o.Why = last.Finish, why(last)
		o.Spare = p.open.Between(last.Finish, promised)
		o.Kept, o.Known = p.Slack.Kept(o.Spare)
	}
	o.Pushed = p.pushed(places, jobs)
	return o
}

// pushed are the others that are ready on a later day, or no longer by their
// promise, in the order of the line.
func (p *Plan) pushed(places []lineup.Place, but []lineup.Job) (list []Push) {
	ours := idsOf(but)
	for _, now := range places {
		was := p.places[now.ID]
		if ours[now.ID] || was.Never() || !now.Finish.After(was.Finish) {
			continue
		}
		breaks := now.Late() && !was.Late()
		if breaks || p.day(now.Finish).After(p.day(was.Finish)) {
			e, _ := p.Job(now.ID)
			list = append(list, Push{Expected: e, Now: now.Finish, Breaks: breaks})
		}
	}
	return list
}
