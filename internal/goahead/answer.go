package goahead

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// Said is what the customer said to a proposal.
type Said struct {
	ProposalID int64
	Over       int64 // the answer it stands in place of, as it was shown; 0: none
	Yes        bool
	How        string
	Who        string
}

// Answer keeps what the customer told the desk. The first answer ends the wait
// that the proposal put on its job, once nothing else of the job waits; a yes
// moves the promise to what was said with it, and a no back from there. The
// fields are how and who.
func Answer(ctx context.Context, tx pgx.Tx, by history.By, s Said) error {
	p, a, err := lockForDesk(ctx, tx, by, s.ProposalID)
	if err != nil {
		return err
	}
	return a.answer(ctx, tx, by, p, s)
}

// mostOnPage is how many answers to one proposal a customer's page takes: the
// address may be in anybody's hand.
const mostOnPage = 20

// AnswerOnPage keeps what somebody says who has the link of the visit, while
// the work can still be done or left. Said again, the same is kept once. The
// field is who.
func AnswerOnPage(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, s Said) error {
	p, a, err := lockForPage(ctx, tx, visitID, s.ProposalID)
	if err != nil {
		return err
	}
	if p.AnswerID != 0 && p.Yes == s.Yes && p.AnswerID == s.Over {
		return nil
	}
	if err := few(ctx, tx, "proposal_answer", s.ProposalID); err != nil {
		return err
	}
	s.How = OnPage
	return a.answer(ctx, tx, by, p, s)
}

// few refuses another row for a proposal from a customer's page where there are
// very many.
func few(ctx context.Context, q db.Querier, table string, proposalID int64) error {
	var n int
	if err := q.QueryRow(ctx, "select count(*) from "+table+" where proposal_id = $1", proposalID).Scan(&n); err != nil {
		return fmt.Errorf("count what was said: %w", err)
	}
	if n >= mostOnPage {
		return fault.Conflict("That was answered many times already. Ring us, and we settle it.")
	}
	return nil
}

func (a about) answer(ctx context.Context, tx pgx.Tx, by history.By, p Proposal, s Said) error {
	s.Who = strings.TrimSpace(s.Who)
	if err := s.refuse(p); err != nil {
		return err
	}
	if s.Yes {
		list, err := OfVisit(ctx, tx, a.visitID)
		if err == nil {
			err = refuseYesTwice(list, p)
		}
		if err != nil {
			return err
		}
	}
	var id int64
	err := tx.QueryRow(ctx, `insert into proposal_answer (proposal_id, yes, how, who, replaces, actor_id, intent_id, at)
		values ($1, $2, $3, $4, nullif($5, 0::bigint), nullif($6, 0::bigint), $7, $8) returning id`,
		s.ProposalID, s.Yes, s.How, s.Who, s.Over, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("store answer: %w", db.Translate(err))
	}
	kind := "proposal refused"
	if s.Yes {
		kind = "proposal agreed"
	}
	if err := a.append(ctx, tx, by, kind, map[string]any{"proposal": s.ProposalID, "answer": id}); err != nil {
		return err
	}
	if s.Yes {
		err = a.promise(ctx, tx, by, p, "agreed: ")
	} else {
		err = a.promiseBack(ctx, tx, by, p)
	}
	if err != nil {
		return err
	}
	return Release(ctx, tx, by, a.jobID)
}

func (s Said) refuse(p Proposal) error {
	switch {
	case p.AnswerID != s.Over:
		return fault.Conflict("Somebody else kept an answer to this just now; look again.")
	case p.Billed && !s.Yes:
		return fault.Conflict("This is on the bill already; take that line back first.")
	}
	wrong := map[string]string{}
	if s.How != OnPage && !slices.Contains(Hows, s.How) {
		wrong["how"] = "Choose how they said so."
	}
	sayWho(wrong, s.Who, "Say who of them said so.")
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

func sayWho(wrong map[string]string, who, missing string) {
	switch {
	case who == "":
		wrong["who"] = missing
	case utf8.RuneCountInString(who) > mostWho:
		wrong["who"] = fmt.Sprintf("Keep it under %d characters.", mostWho)
	}
}

// AskCall keeps that somebody with the link of the visit asks to be rung about a
// proposal. It answers nothing: what waits goes on waiting. The fields are who
// and words.
func AskCall(ctx context.Context, tx pgx.Tx, by history.By, visitID, proposalID int64, who, words string) error {
	p, a, err := lockForPage(ctx, tx, visitID, proposalID)
	if err != nil {
		return err
	}
	who, words = strings.TrimSpace(who), strings.TrimSpace(words)
	wrong := map[string]string{}
	sayWho(wrong, who, "Say who we ask for.")
	if utf8.RuneCountInString(words) > mostWho {
		wrong["words"] = fmt.Sprintf("Keep it under %d characters.", mostWho)
	}
	switch {
	case len(wrong) > 0:
		return &fault.Invalid{Fields: wrong}
	case p.AsksCall() && p.CallWords == words:
		return nil
	}
	if err := few(ctx, tx, "proposal_call", proposalID); err != nil {
		return err
	}
	var id int64
	err = tx.QueryRow(ctx, `insert into proposal_call (proposal_id, who, words, intent_id, at) values ($1, $2, $3, $4, $5) returning id`,
		proposalID, who, words, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("store call: %w", db.Translate(err))
	}
	return a.append(ctx, tx, by, "customer asks to be rung", map[string]any{"proposal": proposalID, "call": id})
}

// lockForDesk reads a proposal that stands, for the desk.
func lockForDesk(ctx context.Context, tx pgx.Tx, by history.By, id int64) (Proposal, about, error) {
	if !by.Has("desk") && !by.Has("owner") {
		return Proposal{}, about{}, fault.Forbidden("What the customer says is the desk’s to keep.")
	}
	return lockProposal(ctx, tx, id)
}

// lockForPage reads a proposal of the visit that its customer may still answer.
func lockForPage(ctx context.Context, tx pgx.Tx, visitID, id int64) (Proposal, about, error) {
	p, a, err := lockProposal(ctx, tx, id)
	switch {
	case err != nil:
	case a.visitID != visitID:
		err = fault.NotFound("There is no such proposal.")
	case p.Billed || p.Settled:
		err = fault.Conflict("This is done or on the bill by now, and no answer changes it. Ring us about it.")
	case !slices.Contains(job.OpenStages, a.stage) || a.stage == job.Ready:
		err = fault.Conflict("The work has ended by now, and no answer changes it. Ring us about it.")
	}
	return p, a, err
}

// lockProposal holds the visit of a proposal and reads it as it stands.
func lockProposal(ctx context.Context, tx pgx.Tx, id int64) (Proposal, about, error) {
	var finding int64
	err := tx.QueryRow(ctx, "select finding_id from proposal where id = $1", id).Scan(&finding)
	if errors.Is(err, pgx.ErrNoRows) {
		return Proposal{}, about{}, fault.NotFound("There is no such proposal.")
	}
	if err != nil {
		return Proposal{}, about{}, db.Translate(err)
	}
	a, err := lock(ctx, tx, finding)
	if err != nil {
		return Proposal{}, about{}, err
	}
	list, err := OfVisit(ctx, tx, a.visitID)
	if err != nil {
		return Proposal{}, about{}, err
	}
	p := OfFinding(list, finding)
	if p == nil || p.ID != id {
		return Proposal{}, about{}, fault.Conflict("Something else is proposed in its place; look again.")
	}
	return *p, a, nil
}
