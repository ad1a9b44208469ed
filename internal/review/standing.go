package review

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/job"
)

// stand reads how the shop stands now.
func (r *Review) stand(ctx context.Context, q db.Querier, now time.Time, zone *time.Location) error {
	rows, err := job.Board(ctx, q, job.BoardFilter{})
	if err != nil {
		return err
	}
	r.Blocked, r.Unfetched = blocked(rows, now, zone), unfetched(rows, now, zone)
	first := map[int64]int{} // ticket by visit
	for _, u := range slices.Backward(r.Unfetched) {
		first[u.Job.VisitID] = u.Job.Number
	}
	balances, err := bill.Owed(ctx, q, slices.Collect(maps.Keys(first)))
	for i := range r.Unfetched {
		u := &r.Unfetched[i]
		u.Owed = balances[u.Job.VisitID]
		if with := first[u.Job.VisitID]; with != u.Job.Number {
			u.With = with
		}
	}
	return err
}

// Blocked is a wait of an open job.
type Blocked struct {
	Job     job.BoardRow
	Wait    job.Wait
	Days    int  // of the calendar since it began
	Overdue bool // the day it was expected is past
}

// blocked lists every open wait, the longest first.
func blocked(rows []job.BoardRow, now time.Time, zone *time.Location) []Blocked {
	var list []Blocked
	today := dayNumber(now.In(zone))
	for _, r := range rows {
		for _, w := range r.Holds {
			list = append(list, Blocked{
				Job: r, Wait: w, Days: today - dayNumber(w.At.In(zone)),
				Overdue: w.ExpectedOn != nil && dayNumber(*w.ExpectedOn) < today,
			})
		}
	}
	slices.SortStableFunc(list, func(a, b Blocked) int { return a.Wait.At.Compare(b.Wait.At) })
	return list
}

// Unfetched is a job that is ready and still here.
type Unfetched struct {
	Job  job.BoardRow
	Days int // of the calendar since it was ready
	// Owed is how the customer of its visit stands. With is the ticket that is
	// listed before it and has the same bill, so that no money is counted twice;
	// 0 where there is none.
	Owed bill.Balance
	With int
}

// unfetched lists them, the longest first, without what is owed.
func unfetched(rows []job.BoardRow, now time.Time, zone *time.Location) []Unfetched {
	var list []Unfetched
	today := dayNumber(now.In(zone))
	for _, r := range rows {
		if r.Stage == job.Ready {
			list = append(list, Unfetched{Job: r, Days: today - dayNumber(r.StageAt.In(zone))})
		}
	}
	slices.SortStableFunc(list, func(a, b Unfetched) int {
		return cmp.Or(a.Job.StageAt.Compare(b.Job.StageAt), cmp.Compare(a.Job.Number, b.Job.Number))
	})
	return list
}
