package goahead

import (
	"context"
	"fmt"
	"slices"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
)

const proposalSQL = `select p.id, p.finding_id, f.words as finding_words, p.job_id, j.number, p.words, p.minor, p.currency, p.total_minor, p.ahead,
		p.hold_id, p.ready_on, p.ready_at, p.expected_at, p.proposed_at, p.instead_of, coalesce(p.minutes, 0) as minutes, coalesce(p.service_code, '') as service_code,
		coalesce(e.name, '') as service, p.parts_on, exists (select from job_service o where o.job_id = p.job_id and o.service_code = p.service_code) as on_job,
		s.name as actor, p.at,
		coalesce(a.id, 0) as answer_id, coalesce(a.yes, false) as yes, coalesce(a.how, '') as how, coalesce(a.who, '') as who,
		coalesce(d.name, '') as answer_by, a.at as answer_at,
		c.at as call_at, coalesce(c.who, '') as call_who, coalesce(c.words, '') as call_words, k.at as spoken_at,
		m.at as reminded_at, coalesce(m.how, '') as reminded, coalesce(m.name, '') as reminded_by,
		exists (select from proposal_billed b where b.proposal_id = p.id
			and not exists (select from bill_line l where l.reverses = b.line_id)) as billed,
		w.id is not null as settled, coalesce(w.kind, '') = 'withdrawn' as void
	from proposal p join finding f on f.id = p.finding_id join job j on j.id = p.job_id join staff s on s.id = p.actor_id left join service e on e.code = p.service_code
	left join finding_answer w on w.finding_id = f.id
	left join proposal_answer a on a.proposal_id = p.id and not exists (select from proposal_answer r where r.replaces = a.id)
	left join staff d on d.id = a.actor_id
	left join lateral (select c.* from proposal_call c join proposal o on o.id = c.proposal_id
		where o.finding_id = p.finding_id order by c.id desc limit 1) c on true
	left join lateral (select max(r.at) as at from proposal_reminder r join proposal o on o.id = r.proposal_id
		where o.finding_id = p.finding_id and r.who <> '') k on true
	left join lateral (select r.at, r.how, b.name from proposal_reminder r join staff b on b.id = r.actor_id
		where r.proposal_id = p.id order by r.id desc limit 1) m on true
	where not exists (select from proposal r where r.replaces = p.id) `

// OfVisit lists what is proposed in a visit, oldest first.
func OfVisit(ctx context.Context, q db.Querier, visitID int64) ([]Proposal, error) {
	rows, err := q.Query(ctx, proposalSQL+"and j.visit_id = $1 order by p.id", visitID)
	list, err := db.All[Proposal](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read proposals: %w", err)
	}
	return list, nil
}

// Reckon says how a visit stands to its spending limit. taxIncluded says what
// the prices of the list hold.
func Reckon(ctx context.Context, q db.Querier, visitID int64, taxIncluded bool) (Standing, error) {
	list, err := OfVisit(ctx, q, visitID)
	if err != nil {
		return Standing{}, err
	}
	return reckon(ctx, q, visitID, taxIncluded, list, 0)
}

// reckon leaves out the proposal that is about to be replaced. What is listed is
// taxed together with what is billed, as it will be on the bill.
func reckon(ctx context.Context, q db.Querier, visitID int64, taxIncluded bool, list []Proposal, but int64) (Standing, error) {
	b, err := bill.Get(ctx, q, visitID)
	if err != nil {
		return Standing{}, err
	}
	offers, err := bill.Offers(ctx, q, visitID)
	if err != nil {
		return Standing{}, err
	}
	t := bill.Taxing{Included: taxIncluded}
	if err := q.QueryRow(ctx, "select coalesce((select tax_by_line from shop), false)").Scan(&t.ByLine); err != nil {
		return Standing{}, fmt.Errorf("read how tax is rounded: %w", err)
	}
	list, offers = once(list, b, offers)
	s := Standing{Currency: b.Currency, LimitMinor: b.LimitMinor, BilledMinor: b.Balance().BilledMinor, AheadMinor: aheadMinor(list, but)}
	s.ListedMinor = b.With(offers, t).Balance().BilledMinor - s.BilledMinor
	return s, nil
}

// once counts a service that was proposed and is on its job by now one time: as
// it is on the bill, else at the price that was said with the proposal, and not
// at all where it has no price of its own beside what covers it.
func once(list []Proposal, b bill.Bill, offers []bill.Offer) ([]Proposal, []bill.Offer) {
	billed := func(p Proposal) bool {
		return slices.ContainsFunc(b.Standing(), func(l bill.Line) bool { return l.JobID == p.JobID && l.ServiceCode == p.ServiceCode })
	}
	offered := func(p Proposal) bool {
		return slices.ContainsFunc(offers, func(o bill.Offer) bool { return o.JobID == p.JobID && o.ServiceCode == p.ServiceCode })
	}
	list = slices.DeleteFunc(slices.Clone(list), func(p Proposal) bool {
		return p.ServiceCode != "" && (billed(p) || p.OnJob && !offered(p))
	})
	offers = slices.DeleteFunc(slices.Clone(offers), func(o bill.Offer) bool {
		return slices.ContainsFunc(list, func(p Proposal) bool {
			return p.Goes() && !p.Void && p.JobID == o.JobID && p.ServiceCode == o.ServiceCode
		})
	})
	return list, offers
}
