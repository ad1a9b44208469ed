package templates

import (
	"strconv"

	"damperdesk/internal/bill"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/plan"
)

// VisitPage is what one customer brought at one time.
type VisitPage struct {
	Base
	Visit job.VisitWithJobs
	// Link is the address of the customer's page; empty when there is none.
	Link     string
	Views    []link.Viewed // of it, the newest first
	Bill     VisitBill
	Estimate bill.Estimate // as it was told at drop-off; zero for none

	Booking VisitBooking
	// Expected is what the line says of the last of its jobs; nil: nothing is to
	// be done.
	Expected *plan.Expected
	Given    []job.Promise // the newest first

	Says VisitSays

	Proposals []goahead.Proposal
	Standing  goahead.Standing
}

func (p VisitPage) path() string { return "/visits/" + strconv.FormatInt(p.Visit.ID, 10) }

func (p VisitPage) limit() string { return p.limitWords(p.Visit.LimitMinor, p.Visit.Currency) }

// limitWords is how a spending limit is spoken of.
func (b Base) limitWords(minor *int64, code string) string {
	if minor == nil {
		return "ask for everything"
	}
	return "up to " + b.Prefs.Money(*minor, code) + " without asking"
}

// termsLine says which terms were accepted and by whom; empty for none.
func (b Base) termsLine(v job.VisitWithJobs) string {
	if v.TermsAt == nil {
		return ""
	}
	return "Terms of " + b.Date(b.local(*v.TermsAt)) + " accepted by " + v.TermsBy + "."
}

func ticketPath(j job.Job) string { return "/jobs/" + strconv.FormatInt(j.ID, 10) + "/ticket" }
