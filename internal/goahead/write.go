package goahead

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
)

const (
	mostWords = 200             // characters of what is proposed, which stands on the bill
	mostWho   = 120             // characters of who answered
	mostMinor = 100_000_000_000 // minor units
	// mostMinutes is two weeks of long days at the bench.
	mostMinutes = 6000
	mostReason  = 120                  // characters of why a promise moves
	mostAhead   = 364 * 24 * time.Hour // a day further away is a slip
	// dayIsOver is how long after its midnight UTC a day has ended everywhere.
	dayIsOver = 36 * time.Hour
)

// New is a proposal as somebody makes it.
type New struct {
	FindingID int64
	Words     string
	Minor     int64
	// ServiceCode is the service that it is; empty: none of the list.
	ServiceCode string
	Day               // what was promised is known already
	Over        int64 // the proposal it stands in place of, as they saw it; 0: none
}

// about is what a writer knows of what a proposal is for.
type about struct {
	visitID, customerID, unitID, jobID int64
	stage, grade, cause                string
	answered                           bool
	currency                           string
	version                            int       // of the visit
	promisedAt                         time.Time // in the shop's zone
}

// lock holds the row of the visit, then reads what the finding is.
func lock(ctx context.Context, tx pgx.Tx, findingID int64) (a about, err error) {
	var shopZone string
	err = tx.QueryRow(ctx, `select v.id, v.customer_id, v.currency, v.version, v.promised_at, coalesce((select zone from shop), 'UTC')
		from visit v join job j on j.visit_id = v.id join finding f on f.job_id = j.id
		where f.id = $1 for no key update of v`, findingID).Scan(&a.visitID, &a.customerID, &a.currency, &a.version, &a.promisedAt, &shopZone)
	if errors.Is(err, pgx.ErrNoRows) {
		return a, fault.NotFound("There is no such finding.")
	}
	if err != nil {
		return a, db.Translate(err)
	}
	err = tx.QueryRow(ctx, `select j.id, j.unit_id, j.stage, f.grade, f.cause, exists (select from finding_answer where finding_id = f.id)
		from finding f join job j on j.id = f.job_id where f.id = $1`, findingID).
		Scan(&a.jobID, &a.unitID, &a.stage, &a.grade, &a.cause, &a.answered)
	if err != nil {
		return a, fmt.Errorf("read finding: %w", err)
	}
	zone, err := time.LoadLocation(shopZone)
	if err != nil {
		return a, fmt.Errorf("read zone of shop: %w", err)
	}
	a.promisedAt = a.promisedAt.In(zone)
	return a, nil
}

func (a about) refuse(n New, live *Proposal, at time.Time) error {
	var had int64
	if live != nil {
		had = live.ID
	}
	switch {
	case !slices.Contains(job.OpenStages, a.stage) || a.stage == job.Ready:
		return fault.Conflict("This job is " + a.stage + "; nothing more is proposed for it.")
	case a.answered:
		return fault.Conflict("This finding is answered already; nothing is proposed for it.")
	case had != n.Over:
		return fault.Conflict("Somebody else proposed something for it just now; look again.")
	case live != nil && live.Billed:
		return fault.Conflict("What was proposed is on the bill already; take that line back first.")
	case a.cause == bench.HappenedHere:
		return fault.Field("price", "What happened here is not the customer’s to pay: leave both empty.")
	}
	wrong := map[string]string{}
	switch {
	case n.Words == "":
		wrong["proposal"] = "Say what is proposed, as the customer reads it."
	case utf8.RuneCountInString(n.Words) > mostWords:
		wrong["proposal"] = fmt.Sprintf("Keep it under %d characters.", mostWords)
	}
	if n.Minor < 0 || n.Minor > mostMinor {
		wrong["price"] = "That is too large for a price."
	}
	n.refuseDay(wrong, at, a.promisedAt)
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

// checkService refuses a service that the job may not have, or that is proposed
// for it already.
func (a about) checkService(ctx context.Context, q db.Querier, list []Proposal, n New) error {
	if n.ServiceCode == "" {
		return nil
	}
	j, err := job.Get(ctx, q, a.jobID)
	if err == nil {
		_, err = job.CheckService(ctx, q, j, n.ServiceCode)
	}
	var invalid *fault.Invalid
	if errors.As(err, &invalid) {
		return fault.Field("proposedservice", invalid.Fields["service"])
	}
	if err != nil {
		return err
	}
	return refuseTwice(list, a.jobID, n)
}

// CheckDay refuses what no day can be worked out from. The fields are takes,
// partson and readyon; promised is what stands, in the shop's zone.
func (n New) CheckDay(at, promised time.Time) error {
	wrong := map[string]string{}
	if n.refuseDay(wrong, at, promised); len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

func (n New) refuseDay(wrong map[string]string, at, promised time.Time) {
	y, m, d := promised.Add(-1).Date()
	stands := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	switch {
	case n.ReadyOn == nil:
	case !at.Before(n.ReadyOn.Add(dayIsOver)), n.ReadyAt != nil && !n.ReadyAt.After(at):
		wrong["readyon"] = "That day is past: say the day it will be ready with it, or leave it empty."
	case n.ReadyOn.Before(stands):
		wrong["readyon"] = "It is promised for " + stands.Format("Monday 2 January") + ", and more work does not bring that forward: say that day or a later one, or leave it empty."
	case n.ReadyOn.Sub(at) > mostAhead:
		wrong["readyon"] = "That is more than a year away: check the day."
	}
	if n.Minutes < 0 || n.Minutes > mostMinutes {
		wrong["takes"] = fmt.Sprintf("Type the minutes at the bench, at most %d.", mostMinutes)
	}
	switch {
	case n.PartsOn == nil:
	case !at.Before(n.PartsOn.Add(dayIsOver)):
		wrong["partson"] = "That day is past: say when the parts come, or leave it empty."
	case n.PartsOn.Sub(at) > mostAhead:
		wrong["partson"] = "That is more than a year away: check the day."
	}
}

// Propose proposes work for a finding that stands. Inside the spending limit of
// the visit it goes ahead; beyond it, the job waits for the customer where what
// was found needs doing or is not to be ridden. The day that is said with what
// goes ahead is promised at once. The fields are proposal, price,
// proposedservice, takes, partson and readyon.
func Propose(ctx context.Context, tx pgx.Tx, by history.By, taxIncluded bool, n New) error {
	a, err := lock(ctx, tx, n.FindingID)
	if err != nil {
		return err
	}
	list, err := OfVisit(ctx, tx, a.visitID)
	if err != nil {
		return err
	}
	n.Words = strings.TrimSpace(n.Words)
	if err := a.refuse(n, OfFinding(list, n.FindingID), by.At); err != nil {
		return err
	}
	if err := a.checkService(ctx, tx, list, n); err != nil {
		return err
	}
	standing, err := reckon(ctx, tx, a.visitID, taxIncluded, list, n.Over)
	if err != nil {
		return err
	}
	p := Proposal{FindingID: n.FindingID, JobID: a.jobID, Words: n.Words, Minor: n.Minor, Day: n.Day, ServiceCode: n.ServiceCode,
		TotalMinor: standing.TotalMinor() + n.Minor, Ahead: standing.Inside(n.Minor)}
	if holds := a.grade == bench.FoundDue || a.grade == bench.FoundUnsafe; holds && !p.Ahead {
		if p.HoldID, err = hold(ctx, tx, by, a.jobID); err != nil {
			return err
		}
	}
	p.InsteadOf = &a.promisedAt
	if err := a.insert(ctx, tx, by, p, n.Over); err != nil {
		return err
	}
	if p.Ahead {
		if err := a.promise(ctx, tx, by, p, "inside the limit: "); err != nil {
			return err
		}
	} else if err := message.PostVisit(ctx, tx, by, message.GoAhead, a.visitID, by.Intent.String(), time.Time{}); err != nil {
		return err
	}
	return Release(ctx, tx, by, a.jobID)
}

// hold lets the job wait for the customer; nil where it does already.
func hold(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) (*int64, error) {
	j, err := job.Get(ctx, tx, jobID)
	if err != nil {
		return nil, err
	}
	if slices.ContainsFunc(j.Holds, func(w job.Wait) bool { return w.Kind == job.WaitingOnCustomer }) {
		return nil, nil
	}
	if err := job.Hold(ctx, tx, by, jobID, job.WaitingOnCustomer, "", nil); err != nil {
		return nil, err
	}
	var id int64
	err = tx.QueryRow(ctx, "select max(id) from hold where job_id = $1 and intent_id = $2", jobID, by.Intent).Scan(&id)
	if err != nil {
		return nil, fmt.Errorf("read hold: %w", err)
	}
	return &id, nil
}

func (a about) insert(ctx context.Context, tx pgx.Tx, by history.By, p Proposal, over int64) error {
	var id int64
	err := tx.QueryRow(ctx, `insert into proposal (finding_id, job_id, words, minor, currency, total_minor, ahead, hold_id, replaces, actor_id, intent_id, at,
			service_code, minutes, parts_on, ready_on, ready_at, instead_of, expected_at, proposed_at)
		values ($1, $2, $3, $4, $5, $6, $7, $8, nullif($9, 0::bigint), $10, $11, $12,
			nullif($13, ''), nullif($14, 0), $15, $16, $17, $18, $19, $20) returning id`,
		p.FindingID, p.JobID, p.Words, p.Minor, a.currency, p.TotalMinor, p.Ahead, p.HoldID, over, by.Staff, by.Intent, by.At,
		p.ServiceCode, p.Minutes, p.PartsOn, p.ReadyOn, p.ReadyAt, p.InsteadOf, p.ExpectedAt, p.ProposedAt).Scan(&id)
	if err != nil {
		return fmt.Errorf("store proposal: %w", db.Translate(err))
	}
	return a.append(ctx, tx, by, "proposal made", map[string]any{"proposal": id, "minor": p.Minor, "currency": a.currency, "ahead": p.Ahead})
}

// promise moves the promise of the visit to what was said with a proposal. More
// work never brings it forward, and where nothing is left to do it stays.
func (a about) promise(ctx context.Context, tx pgx.Tx, by history.By, p Proposal, why string) error {
	if p.ReadyAt == nil || !p.ReadyAt.After(a.promisedAt) {
		return nil
	}
	return a.move(ctx, tx, by, *p.ReadyAt, why+p.Words, p.foreseen())
}

// promiseBack takes the promise back to what it is without a proposal that was
// refused: what was last given otherwise, or the latest day said with what goes
// ahead still.
func (a about) promiseBack(ctx context.Context, tx pgx.Tx, by history.By, p Proposal) error {
	list, err := OfVisit(ctx, tx, a.visitID)
	if err != nil {
		return err
	}
	to := a.promisedAt // where no promise of its own was kept
	err = tx.QueryRow(ctx, `select p.promised_at from promise p where p.visit_id = $1
			and not exists (select from proposal o where o.intent_id = p.intent_id)
			and not exists (select from proposal_answer o where o.intent_id = p.intent_id)
		order by p.id desc limit 1`, a.visitID).Scan(&to)
	if err != nil && !errors.Is(err, pgx.ErrNoRows) {
		return fmt.Errorf("read promise: %w", err)
	}
	for _, o := range list {
		if o.Goes() && !o.Void && o.ReadyAt != nil && o.ReadyAt.After(to) {
			to = *o.ReadyAt
		}
	}
	if !to.Before(a.promisedAt) {
		return nil
	}
	return a.move(ctx, tx, by, to, "refused: "+p.Words, job.Foreseen{})
}

// move promises another time, unless that is past or nothing is left to do.
func (a about) move(ctx context.Context, tx pgx.Tx, by history.By, to time.Time, reason string, seen job.Foreseen) error {
	if !slices.Contains(job.OpenStages, a.stage) || a.stage == job.Ready || !to.After(by.At) {
		return nil
	}
	words := []rune(reason)
	return job.MovePromise(ctx, tx, by, a.visitID, a.version, to, string(words[:min(len(words), mostReason)]), seen, a.promisedAt.Location())
}

// foreseen is what the line-up said as the proposal was made.
func (d Day) foreseen() (f job.Foreseen) {
	if d.ExpectedAt != nil {
		f.Expected = *d.ExpectedAt
	}
	if d.ProposedAt != nil {
		f.Proposed = *d.ProposedAt
	}
	return f
}

func (a about) append(ctx context.Context, tx pgx.Tx, by history.By, kind string, detail map[string]any) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "job", SubjectID: a.jobID, Customer: a.customerID, Unit: a.unitID,
		Job: a.jobID, Kind: kind, Detail: detail})
}

// Release ends the waits that proposals put on a job once none of them waits
// for the customer any more. A wait that somebody put by hand stays.
func Release(ctx context.Context, tx pgx.Tx, by history.By, jobID int64) error {
	rows, err := tx.Query(ctx, proposalSQL+"and p.job_id = $1 order by p.id", jobID)
	list, err := db.All[Proposal](rows, err)
	if err != nil {
		return fmt.Errorf("read proposals: %w", err)
	}
	if slices.ContainsFunc(list, Proposal.Waits) {
		return nil
	}
	rows, err = tx.Query(ctx, `select distinct p.hold_id from proposal p where p.job_id = $1 and p.hold_id is not null
		and not exists (select from hold_end e where e.hold_id = p.hold_id) order by 1`, jobID)
	if err != nil {
		return fmt.Errorf("read holds: %w", err)
	}
	holds, err := pgx.CollectRows(rows, pgx.RowTo[int64])
	if err != nil {
		return fmt.Errorf("read holds: %w", err)
	}
	for _, id := range holds {
		if err := job.EndHold(ctx, tx, by, jobID, id); err != nil {
			return err
		}
	}
	return nil
}

// Bill writes a proposal that goes ahead to the bill, for the customer to pay,
// under a kind of tax. The field is tax.
func Bill(ctx context.Context, tx pgx.Tx, by history.By, proposalID int64, taxCode string) error {
	p, a, err := lockForDesk(ctx, tx, by, proposalID)
	switch {
	case err != nil:
		return err
	case p.Billed:
		return fault.Conflict("This is on the bill already.")
	case !p.Goes() || p.Void:
		return fault.Conflict("Only what goes ahead is billed.")
	}
	l := bill.NewLine{JobID: a.jobID, Kind: bill.KindService, Words: p.Words, QtyMilli: 1000, UnitMinor: p.Minor, TaxCode: taxCode, TaxIncluded: true}
	if p.OnJob {
		l.ServiceCode = p.ServiceCode
	}
	if err = bill.AddLine(ctx, tx, by, a.visitID, l); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `insert into proposal_billed (proposal_id, line_id, actor_id, intent_id, at)
		select $1, max(id), $3, $4, $5 from bill_line where visit_id = $2 and intent_id = $4`, proposalID, a.visitID, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("bill proposal: %w", db.Translate(err))
	}
	return nil
}
