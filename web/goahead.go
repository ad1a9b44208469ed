package web

import (
	"context"
	"errors"
	"maps"
	"net/http"
	"time"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// proposal reads what is proposed in the fields that field names; ok is false
// where both are empty.
func (f *form) proposal(field func(string) string, currency string) (n goahead.New, ok bool) {
	words, price := f.text(field("proposal")), f.money(field("price"), currency)
	if words == "" && f.text(field("price")) == "" {
		return n, false
	}
	n.Words = words
	f.takes(&n, field)
	if price != nil {
		n.Minor = *price
	} else {
		f.wrong(field("price"), "Type the price, 0 if nothing.")
	}
	return n, true
}

// takes reads what is known of how long proposed work takes, and the day that is
// said with it: one that was only worked out is worked out again.
func (f *form) takes(n *goahead.New, field func(string) string) {
	n.Minutes, n.PartsOn, n.ServiceCode = int(f.number(field("takes"))), f.day(field("partson")), f.text(field("proposedservice"))
	if day := f.text(field("readyon")); day != f.text(field("worked")) || !plan.Known(*n) {
		n.ReadyOn = f.day(field("readyon"))
	}
}

// dayOf is what proposed work does to the promise of its job, with the day to say
// in n; nil where nothing is known.
func dayOf(ctx context.Context, q db.Querier, at time.Time, j job.Job, n *goahead.New) (*templates.ProposalEffect, error) {
	s, ok, err := plan.Say(ctx, q, at, j, n)
	if err != nil || !ok {
		return nil, err
	}
	return &templates.ProposalEffect{Saying: s}, nil
}

// plainly names a field as it is.
func plainly(name string) string { return name }

// propose proposes for a finding; its sentences are for the fields of the form.
func propose(ctx context.Context, tx pgx.Tx, by history.By, f *form, field func(string) string, j job.Job, n goahead.New) error {
	if err := f.err(); err != nil {
		return err
	}
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	if n.CheckDay(by.At, j.PromisedAt.In(settings.Location())) == nil { // else Propose says what is wrong, with the rest
		if _, err := dayOf(ctx, tx, by.At, j, &n); err != nil {
			return err
		}
	}
	return f.named(field, goahead.Propose(ctx, tx, by, settings.PricesIncludeTax, n))
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
	return propose(ctx, tx, by, f, field, j, n)
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
	return propose(ctx, tx, by, f, plainly, j, n)
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

// proposeWork proposes for a finding of a job, or for the button beside only says
// what that does to its promise.
func (a *App) proposeWork(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	finding := f.text("reckon")
	if finding == "" {
		return changeJob("propose", proposeForJob)(a, w, r)
	}
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	r.PostForm.Set("finding", finding)
	j, err := job.Get(r.Context(), a.pool, id)
	if err != nil {
		return err
	}
	return a.reckonDay(w, r, f, j, plainly, func(base templates.Base) (templ.Component, error) {
		return a.jobPage(r, base, id, "propose")
	})
}

// reckonDay shows a form again with what the work that is being proposed in it
// does to the promise of its job. Nothing is kept.
func (a *App) reckonDay(w http.ResponseWriter, r *http.Request, f *form, j job.Job, field func(string) string, draw func(templates.Base) (templ.Component, error)) error {
	settings, err := shop.Get(r.Context(), a.pool)
	if err != nil {
		return err
	}
	var n goahead.New
	f.takes(&n, field)
	if err = f.err(); err == nil {
		err = f.named(field, n.CheckDay(a.Now(), j.PromisedAt.In(settings.Location())))
	}
	if err != nil {
		return a.redisplay(w, r, err, draw)
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Typed = r.PostForm
		return draw(base)
	})
}

// named says what is wrong beside the fields as the form names them.
func (f *form) named(field func(string) string, err error) error {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	for name, sentence := range invalid.Fields {
		f.wrong(field(name), sentence)
	}
	return f.err()
}

// readEffect says what the work that is being proposed in a form does to the
// promise of its job; the day goes into the form where nobody typed one.
func readEffect(ctx context.Context, q db.Querier, base *templates.Base, j job.Job, field func(string) string) (*templates.ProposalEffect, error) {
	f := &form{values: base.Typed, faults: map[string]string{}}
	n := goahead.New{FindingID: f.number("finding")}
	f.takes(&n, field)
	if price := f.money(field("price"), j.Currency); price != nil {
		n.Minor = *price
	}
	if f.err() != nil || n.CheckDay(base.Now, j.PromisedAt.In(base.Prefs.Zone)) != nil {
		return nil, nil
	}
	typed := n.ReadyOn != nil
	effect, err := dayOf(ctx, q, base.Now, j, &n)
	if err == nil && !typed && n.ReadyOn != nil {
		base.Typed = maps.Clone(base.Typed)
		base.Typed.Set(field("readyon"), n.ReadyOn.Format(time.DateOnly))
		base.Typed.Set(field("worked"), n.ReadyOn.Format(time.DateOnly))
	}
	return effect, err
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
