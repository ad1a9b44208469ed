package web

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
)

// proposal reads what is proposed in the fields that field names; ok is false
// where both are empty.
func (f *form) proposal(field func(string) string, currency string) (n goahead.New, ok bool) {
	words, price := f.text(field("proposal")), f.money(field("price"), currency)
	if words == "" && f.text(field("price")) == "" {
		return n, false
	}
	n.Words, n.ReadyOn = words, f.day(field("readyon"))
	if price != nil {
		n.Minor = *price
	} else {
		f.wrong(field("price"), "Type the price, 0 if nothing.")
	}
	return n, true
}

// plainly names a field as it is.
func plainly(name string) string { return name }

// propose proposes for a finding; its sentences are for the fields of the form.
func propose(ctx context.Context, tx pgx.Tx, by history.By, f *form, field func(string) string, n goahead.New) error {
	if err := f.err(); err != nil {
		return err
	}
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	err = goahead.Propose(ctx, tx, by, settings.PricesIncludeTax, n)
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	for name, sentence := range invalid.Fields {
		f.wrong(field(name), sentence)
	}
	return f.err()
}

// proposeFound proposes what came in one form with a finding that was just
// stored.
func proposeFound(ctx context.Context, tx pgx.Tx, by history.By, f *form, field func(string) string, j job.Job, stepID *int64, found bench.Found) error {
	n, ok := f.proposal(field, j.Currency)
	if !ok {
		return nil
	}
	var err error
	if n.FindingID, err = bench.FoundID(ctx, tx, j.ID, stepID, found); err != nil {
		return err
	}
	return propose(ctx, tx, by, f, field, n)
}

// proposeLine is proposeFound for a step that was just signed with something
// found at it.
func (s stepSent) proposeLine(ctx context.Context, tx pgx.Tx, by history.By, g bench.Signing, field func(string) string) error {
	if n := len(g.Found); n > 0 && s.foundInWords(field) {
		return proposeFound(ctx, tx, by, s.form, field, s.sheet.Job, &g.StepID, g.Found[n-1])
	}
	return nil
}

func proposeForJob(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	j, err := job.Get(ctx, tx, id)
	if err != nil {
		return err
	}
	n, ok := f.proposal(plainly, j.Currency)
	if !ok {
		f.wrong("proposal", "Say what is proposed, as the customer reads it.")
	}
	n.FindingID, n.Over = f.number("finding"), f.number("over")
	if err := onJob(ctx, tx, id, n.FindingID); err != nil {
		return err
	}
	return propose(ctx, tx, by, f, plainly, n)
}

// onJob refuses a finding of another job.
func onJob(ctx context.Context, tx pgx.Tx, jobID, findingID int64) error {
	list, err := bench.Findings(ctx, tx, jobID)
	if err != nil {
		return err
	}
	for _, f := range list {
		if f.ID == findingID {
			return nil
		}
	}
	return fault.NotFound("There is no such finding on this job.")
}

func answerProposal(ctx context.Context, tx pgx.Tx, by history.By, _ int64, f *form) error {
	said := goahead.Said{ProposalID: f.number("proposed"), Over: f.number("over"), How: f.text("how"), Who: f.text("who")}
	switch f.text("said") {
	case "yes":
		said.Yes = true
	case "no":
	default:
		f.wrong("said", "Choose yes or no. Silence is neither.")
	}
	if err := f.err(); err != nil {
		return err
	}
	return goahead.Answer(ctx, tx, by, said)
}

func billProposal(ctx context.Context, tx pgx.Tx, by history.By, _ int64, f *form) error {
	id := f.number("proposed")
	if err := f.err(); err != nil {
		return err
	}
	return goahead.Bill(ctx, tx, by, id, f.text("tax"))
}

// proposals reads what is proposed in a visit and how that stands to its limit.
func proposals(ctx context.Context, q db.Querier, visitID int64) ([]goahead.Proposal, goahead.Standing, error) {
	list, err := goahead.OfVisit(ctx, q, visitID)
	if err != nil {
		return nil, goahead.Standing{}, err
	}
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return nil, goahead.Standing{}, err
	}
	standing, err := goahead.Reckon(ctx, q, visitID, settings.PricesIncludeTax)
	return list, standing, err
}
