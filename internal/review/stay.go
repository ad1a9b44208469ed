package review

import (
	"context"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
)

// passage is what is stored of one job's way through the shop.
type passage struct {
	JobID    int64
	Promised time.Time
	Undone   bool // ended otherwise than done
	Again    bool // its unit had left, done, not long before
	Comeback bool // for the same complaint, as was asked at the counter
	Services []string
	Stages   []string // as it reached them
	Times    []time.Time
}

// stay is a passage with its moments; one that has not come is zero.
type stay struct {
	passage
	came  time.Time // here: dropped off or arrived by post
	ready time.Time // for the last time, unless it was taken back since
	gone  time.Time // picked up, sent back or cancelled
	holds []hold
}

// hold is a wait beside the stage; an open one has no end.
type hold struct {
	JobID int64
	Kind  string
	From  time.Time
	To    *time.Time
}

// moments reads them from the stages: a booking alone is no stay.
func moments(p passage) stay {
	s := stay{passage: p}
	for i, stage := range p.Stages {
		at := p.Times[i]
		switch stage {
		case job.Booked:
			continue
		case job.Ready:
			s.ready = at
		case job.FinalCheck, job.OnBench:
			s.ready = time.Time{}
		case job.PickedUp, job.SentBack, job.Cancelled:
			s.gone = at
			continue
		}
		if s.came.IsZero() {
			s.came = at
		}
	}
	return s
}

// comeback is within how many days a unit that was here before has come back
// (the counter's question of a comeback: common practice, no source).
const comeback = 90

// stays reads every job that was in the shop at since or later.
func stays(ctx context.Context, q db.Querier, since time.Time) ([]stay, error) {
	rows, err := q.Query(ctx, `with kept as (select * from job where closed_at is null or closed_at >= $1),
			way as (select c.job_id, array_agg(c.stage order by c.seq) as stages, array_agg(c.at order by c.seq) as times
				from stage_change c join kept k on k.id = c.job_id group by c.job_id),
			wanted as (select o.job_id, array_agg(o.service_code) as services
				from job_service o join kept k on k.id = o.job_id group by o.job_id)
		select k.id as job_id, v.promised_at as promised, coalesce(k.ending, 'done') <> 'done' as undone,
			exists (select from job b where b.unit_id = k.unit_id and b.id < k.id and b.ending = 'done'
				and b.closed_at >= k.opened_at - make_interval(days => $2)) as again, k.comeback_of is not null as comeback,
			coalesce(n.services, '{}') as services, w.stages, w.times
		from kept k join visit v on v.id = k.visit_id join way w on w.job_id = k.id left join wanted n on n.job_id = k.id
		order by k.id`, since, comeback)
	list, err := db.All[passage](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read stays: %w", err)
	}
	waits, err := holds(ctx, q, since)
	if err != nil {
		return nil, err
	}
	var all []stay
	for _, p := range list {
		s := moments(p)
		s.holds = waits[p.JobID]
		if !s.came.IsZero() {
			all = append(all, s)
		}
	}
	return all, nil
}

func holds(ctx context.Context, q db.Querier, since time.Time) (map[int64][]hold, error) {
	rows, err := q.Query(ctx, `select h.job_id, h.kind, h.at as from, e.at as to
		from hold h join job j on j.id = h.job_id left join hold_end e on e.hold_id = h.id
		where j.closed_at is null or j.closed_at >= $1 order by h.id`, since)
	list, err := db.All[hold](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read waits: %w", err)
	}
	byJob := map[int64][]hold{}
	for _, h := range list {
		byJob[h.JobID] = append(byJob[h.JobID], h)
	}
	return byJob, nil
}

// days is how long from drop-off to ready, in days of 24 hours, nights and
// closed days included.
func (s stay) days() float64 { return s.ready.Sub(s.came).Hours() / 24 }

// here is whether it was in the shop at the moment t.
func (s stay) here(t time.Time) bool {
	return s.came.Before(t) && (s.gone.IsZero() || !s.gone.Before(t))
}

// The parts of a stay, in the order they are told.
const (
	ForBench = iota // nobody works on it
	OnBench
	OnParts
	OnCustomer
	SentOut
	parts
)

// Split is a time by its parts, in days.
type Split [parts]float64

// Days is all of it.
func (s Split) Days() float64 {
	sum := 0.0
	for _, d := range s {
		sum += d
	}
	return sum
}

// split parts the time from drop-off to ready. While it waits for something
// that is what it does, parts before the customer before a specialist; else it
// is on the bench or waits for it. One taken back from ready waits for the
// bench until it was.
func (s stay) split() Split {
	cuts := append([]time.Time{s.came, s.ready}, s.Times...)
	for _, h := range s.holds {
		cuts = append(cuts, h.From)
		if h.To != nil {
			cuts = append(cuts, *h.To)
		}
	}
	slices.SortFunc(cuts, time.Time.Compare)
	var split Split
	for i, from := range cuts[:len(cuts)-1] {
		if to := cuts[i+1]; !from.Before(s.came) && !to.After(s.ready) {
			split[s.doing(from)] += to.Sub(from).Hours() / 24
		}
	}
	return split
}

// doing is the part of the stay at the moment t.
func (s stay) doing(t time.Time) int {
	for i, kind := range []string{job.WaitingOnParts, job.WaitingOnCustomer, job.SentOut} {
		if slices.ContainsFunc(s.holds, func(h hold) bool {
			return h.Kind == kind && !h.From.After(t) && (h.To == nil || h.To.After(t))
		}) {
			return OnParts + i
		}
	}
	part := ForBench
	for i, stage := range s.Stages {
		if s.Times[i].After(t) {
			break
		}
		part = ForBench
		if stage == job.OnBench || stage == job.FinalCheck {
			part = OnBench
		}
	}
	return part
}
