package templates

import (
	"strings"

	"damperdesk/internal/bill"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// ReceiptPage is the A5 sheet that a customer takes home: what they left here,
// what was agreed, and where they can follow it.
type ReceiptPage struct {
	Base
	Visit    job.VisitWithJobs
	Estimate bill.Estimate // zero for none
	Desk     shop.Settings
	Link     string // of the customer's page; empty where there is none
}

// short is an address as it is typed.
func short(address string) string {
	_, rest, ok := strings.Cut(address, "://")
	if !ok {
		return address
	}
	return rest
}

// wanted is what is done to a unit, and why.
func wanted(j job.Job) string {
	return listed(services(j.ServiceNames), symptomWords(j.Symptoms))
}

// goesBackWords says how the units go back.
func goesBackWords(v job.VisitWithJobs) string {
	if v.GoesBack == "post" {
		return "by post, once it is paid"
	}
	return "picked up here; bring this sheet"
}

// estimateLine is the estimate in a line, and what it leaves out.
func (p ReceiptPage) estimateLine() string {
	if p.Estimate.ID == 0 {
		return ""
	}
	return p.estimateHead(p.Estimate) + ". Parts and whatever is found once it is open are not in it."
}
