// Package summary reads what the customer's page says about a visit. It writes
// nothing, so that looking changes nothing.
package summary

import (
	"context"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/internal/shop"
)

// Summary is one visit as its customer may see it.
type Summary struct {
	Shop  shop.Settings
	Hours shop.Hours
	Way   customer.Way // how the customer reads it
	// From and To are the span the shop is open in now, or opens in next; both
	// are zero when no opening is known. Then is when it opens after that on a later
	// day, Shut when it closed last.
	From, To, Then, Shut time.Time
	Visit                job.VisitWithJobs
	PromisedSince        time.Time
	Bill                 bill.Bill     // what stands of it, without the shop's reasons
	Estimate             bill.Estimate // as it was told; zero for none
	Units                []Unit
	// Proposals are those of findings that stand or were put right, without
	// whose word of the shop's each was.
	Proposals []goahead.Proposal
	Standing  goahead.Standing
}

// Unit is one job of the visit with its bench sheet; the sheet has no steps
// before work starts.
type Unit struct {
	Job   job.Job
	Sheet bench.Sheet
	Next  []due.Next // from the day it was ready; none before
}

// SecondChecks counts the steps that a second person checked.
func (u Unit) SecondChecks() int {
	n := 0
	for _, s := range u.Sheet.Steps {
		if s.Checked != nil && !s.Checked.Alone {
			n++
		}
	}
	return n
}

// Visit reads the page of a visit at the moment now.
func Visit(ctx context.Context, q db.Querier, visitID int64, now time.Time) (Summary, error) {
	s, err := read(ctx, q, visitID, now)
	if err != nil {
		return Summary{}, fmt.Errorf("read summary: %w", err)
	}
	return s, nil
}

func read(ctx context.Context, q db.Querier, visitID int64, now time.Time) (s Summary, err error) {
	if s.Shop, err = shop.Get(ctx, q); err != nil {
		return s, err
	}
	if s.Hours, err = shop.GetHours(ctx, q); err != nil {
		return s, err
	}
	s.readOpenings(now)
	if s.Visit, err = job.Visit(ctx, q, visitID); err != nil {
		return s, err
	}
	if s.Way, err = customer.GetWay(ctx, q, s.Visit.CustomerID); err != nil {
		return s, err
	}
	promises, err := job.Promises(ctx, q, visitID)
	if err != nil {
		return s, err
	}
	s.PromisedSince = s.Visit.OpenedAt
	if len(promises) > 0 {
		s.PromisedSince = promises[0].At
	}
	if s.Bill, err = bill.Get(ctx, q, visitID); err != nil {
		return s, err
	}
	if s.Estimate, err = bill.Told(ctx, q, visitID); err != nil {
		return s, err
	}
	s.Bill.Lines = s.Bill.Standing()
	s.Bill.Payments = slices.DeleteFunc(s.Bill.Payments, func(p bill.Payment) bool { return !p.Stands() })
	if err := s.readProposals(ctx, q); err != nil {
		return s, err
	}
	s.Visit.Phone, s.Visit.Mail, s.Visit.TermsBy, s.Visit.LeftWith, s.Visit.OpenedBy = "", "", "", "", ""
	for i := range s.Visit.Jobs {
		s.Visit.Jobs[i] = forCustomer(s.Visit.Jobs[i])
	}
	for _, j := range s.Visit.Jobs {
		u := Unit{Job: j}
		if u.Sheet, err = bench.Get(ctx, q, j.ID); err != nil {
			return s, err
		}
		u.Sheet.Job = j
		u.Sheet.Pictures = slices.DeleteFunc(u.Sheet.Pictures, func(p picture.Picture) bool { return !p.Shown })
		if j.ReadyAt != nil {
			var model int64
			if j.ModelID != nil {
				model = *j.ModelID
			}
			if u.Next, err = due.After(ctx, q, j.Services, model, *j.ReadyAt, s.Shop); err != nil {
				return s, err
			}
		}
		s.Units = append(s.Units, u)
	}
	return s, nil
}

func (s *Summary) readOpenings(now time.Time) {
	zone := s.Shop.Location()
	open := s.Hours.Calendar(zone)
	s.Shut, _ = open.Shut(now)
	var ok bool
	if s.From, s.To, ok = open.Next(now); !ok {
		return
	}
	y, m, d := s.To.Add(-1).In(zone).Date()
	s.Then, _, _ = open.Next(time.Date(y, m, d+1, 0, 0, 0, 0, zone))
}

func (s *Summary) readProposals(ctx context.Context, q db.Querier) (err error) {
	if s.Proposals, err = goahead.OfVisit(ctx, q, s.Visit.ID); err != nil {
		return err
	}
	s.Proposals = slices.DeleteFunc(s.Proposals, func(p goahead.Proposal) bool { return p.Void })
	for i := range s.Proposals {
		p := &s.Proposals[i]
		p.Actor, p.AnswerBy, p.RemindedBy = "", "", ""
	}
	s.Standing, err = goahead.Reckon(ctx, q, s.Visit.ID, s.Shop.PricesIncludeTax)
	return err
}

// forCustomer leaves out of a job what is the shop's own or tells more of the
// customer than the address in a stranger's hand may.
func forCustomer(j job.Job) job.Job {
	j.Phone, j.Mail, j.TakenBy, j.HangsAt, j.Complaint, j.EndingWords, j.Address, j.Unpaid = "", "", "", "", "", "", "", ""
	j.Holds = slices.Clone(j.Holds)
	for i := range j.Holds {
		j.Holds[i].Tray, j.Holds[i].By = "", ""
	}
	return j
}
