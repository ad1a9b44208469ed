package goahead

import "damperdesk/internal/fault"

// sameService is another proposal of a job for the same service that counts;
// nil for none.
func sameService(list []Proposal, jobID int64, code string, but int64, counts func(Proposal) bool) *Proposal {
	for i, p := range list {
		if p.JobID == jobID && p.ServiceCode == code && p.FindingID != but && !p.Void && counts(p) {
			return &list[i]
		}
	}
	return nil
}

// refuseTwice refuses a service that waits for an answer or goes ahead for
// another finding of the job: a service is done once, and charged once.
func refuseTwice(list []Proposal, jobID int64, n New) error {
	open := func(p Proposal) bool { return p.Waits() || p.Goes() }
	p := sameService(list, jobID, n.ServiceCode, n.FindingID, open)
	if p == nil {
		return nil
	}
	how := "goes ahead already"
	if p.Waits() {
		how = "waits for the customer"
	}
	return fault.Field("proposedservice", "“"+p.Service+"” is proposed for “"+p.FindingWords+"” and "+how+
		". It is done once: choose “none of the list” and say what is done beyond it.")
}

// refuseYesTwice refuses a yes to a service that goes ahead for another finding
// of the job by now.
func refuseYesTwice(list []Proposal, p Proposal) error {
	if p.ServiceCode == "" {
		return nil
	}
	if o := sameService(list, p.JobID, p.ServiceCode, p.FindingID, Proposal.Goes); o != nil {
		return fault.Conflict("“" + o.Service + "” goes ahead for “" + o.FindingWords + "” already; it is done once.")
	}
	return nil
}
