package plan

import (
	"context"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// Saying is what proposed work does to the promise of its visit.
type Saying struct {
	Effect
	Minutes int // at the bench; 0: not known
	Beside  int // the same of what waits for the same word
}

// Known is whether anything is known of what proposed work takes.
func Known(n goahead.New) bool { return n.Minutes > 0 || n.PartsOn != nil || n.ServiceCode != "" }

// Say works out what proposed work does to the promise of its job, and the day
// to say with it where nobody typed one; ok is false where nothing is known. What
// waits for the same word, on any job of the visit, is reckoned in, since a yes
// may be to all of it.
func Say(ctx context.Context, q db.Querier, at time.Time, j job.Job, n *goahead.New) (s Saying, ok bool, err error) {
	if !Known(*n) && n.ReadyOn == nil {
		return s, false, nil
	}
	line, err := Read(ctx, q, at)
	if err != nil {
		return s, false, err
	}
	list, err := goahead.OfVisit(ctx, q, j.VisitID)
	if err != nil {
		return s, false, err
	}
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return s, false, err
	}
	standing, err := goahead.Reckon(ctx, q, j.VisitID, settings.PricesIncludeTax)
	if err != nil {
		return s, false, err
	}
	s, ok = line.say(j, n, list, !standing.Inside(n.Minor))
	return s, ok, nil
}

// say is Say for a proposal that asks for the customer's word, or does not.
func (p *Plan) say(j job.Job, n *goahead.New, list []goahead.Proposal, asks bool) (s Saying, ok bool) {
	if n.Minutes == 0 {
		n.Minutes = p.Extra(j.ID, n.ServiceCode)
	}
	more := More{JobID: j.ID, Minutes: n.Minutes, PartsOn: n.PartsOn, Asks: asks}
	if had := goahead.OfFinding(list, n.FindingID); had != nil && had.Goes() && !had.OnJob {
		more.Minutes -= had.Minutes // it is in the line already
	}
	var beside []More
	if asks {
		for _, o := range goahead.Undecided(list, n.FindingID) {
			beside = append(beside, More{JobID: o.JobID, Minutes: o.Minutes, PartsOn: o.PartsOn, Asks: true})
			s.Beside += o.Minutes
		}
	}
	if s.Effect, ok = p.Adding(more, beside...); ok {
		s.Minutes, n.Day = n.Minutes, p.said(n.Day, s.Effect)
	}
	return s, ok
}

// said is the day as it is promised with a proposal: as it was typed, else as it
// was worked out.
func (p *Plan) said(d goahead.Day, e Effect) goahead.Day {
	if !e.Expected.IsZero() {
		d.ExpectedAt = &e.Expected
	}
	if !e.Promise.IsZero() {
		d.ProposedAt = &e.Promise
	}
	switch {
	case d.ReadyOn != nil:
		at := p.On(*d.ReadyOn, e.Promised)
		for _, known := range []time.Time{e.Promised, e.Promise} {
			if !known.IsZero() && p.Day(known).Equal(*d.ReadyOn) {
				at = known
			}
		}
		d.ReadyAt = &at
	case d.ProposedAt != nil:
		day := p.Day(e.Promise)
		d.ReadyOn, d.ReadyAt = &day, &e.Promise
	}
	return d
}
