package goahead

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// agreed is the proposal that an offer of the price list goes by; one without a
// tax on the list is billed by hand.
func agreed(list []Proposal, o bill.Offer) *Proposal {
	for i, p := range list {
		if p.Goes() && !p.Void && !p.Billed && p.JobID == o.JobID && p.ServiceCode == o.ServiceCode && o.Tax.Code != "" {
			return &list[i]
		}
	}
	return nil
}

// charged is whether an offer went to the bill with what was agreed, before the
// service was on its job.
func charged(list []Proposal, o bill.Offer) bool {
	return slices.ContainsFunc(list, func(p Proposal) bool {
		return p.Goes() && !p.Void && p.Billed && p.JobID == o.JobID && p.ServiceCode == o.ServiceCode
	})
}

// AsAgreed says of offers what was agreed for them, where it was, and leaves out
// what is charged already.
func AsAgreed(list []Proposal, offers []bill.Offer) []bill.Offer {
	offers = slices.DeleteFunc(offers, func(o bill.Offer) bool { return charged(list, o) })
	for i, o := range offers {
		if p := agreed(list, o); p != nil {
			offers[i].Minor, offers[i].Words = &p.Minor, o.Service+" as agreed, with tax"
		}
	}
	return offers
}

// TakeListed writes to the bill what is listed and not on it; a service that was
// agreed to at a price goes at that.
func TakeListed(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, taxIncluded bool) error {
	if _, err := tx.Exec(ctx, "select from visit where id = $1 for no key update", visitID); err != nil {
		return fmt.Errorf("lock visit: %w", err)
	}
	list, err := OfVisit(ctx, tx, visitID)
	if err != nil {
		return err
	}
	offers, err := bill.Offers(ctx, tx, visitID)
	if err != nil {
		return err
	}
	taken := false
	for _, o := range offers {
		p := agreed(list, o)
		if p == nil {
			continue
		}
		if err := Bill(ctx, tx, by, p.ID, o.Tax.Code); err != nil {
			return err
		}
		taken = true
	}
	err = bill.TakeListedBut(ctx, tx, by, visitID, taxIncluded, func(o bill.Offer) bool { return charged(list, o) })
	if taken && errors.As(err, new(fault.Conflict)) {
		return nil // all that was left was agreed
	}
	return err
}
