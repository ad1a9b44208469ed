package web

import (
	"context"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/templates"
)

// found reads what was found at a step: the finding that its grade offers, and
// another in the words typed.
func (s stepSent) found(g *bench.Signing, step *bench.Step, field func(string) string) {
	inWords := s.foundInWords(field)
	if inWords {
		g.Outcome = bench.OutcomeDone
		if s.ticked(field("unknown")) {
			g.Outcome = bench.OutcomeUnknown
		}
	}
	offer, ok := step.Offer(g.Grade)
	if ok && slices.Contains(s.list(field("offer")), g.Grade) && (g.Outcome == "" || g.Outcome == bench.OutcomeDone) {
		offer.Pictures = s.ids(field("offerpicture"))
		g.Found = append(g.Found, offer)
	}
	if inWords {
		g.Found = append(g.Found, bench.Found{Grade: s.text(field("asks")), Cause: s.text(field("cause")), Words: s.text(field("found")),
			Pictures: s.ids(field("foundpicture"))})
	}
}

// foundInWords reports whether a line is answered by something that was found.
func (s stepSent) foundInWords(field func(string) string) bool {
	return s.text(field("outcome")) == templates.AnswerFound
}

// shot is which step a picture belongs to that came in a field of the form.
func (s stepSent) shot(field string) shot {
	at := shot{job: s.sheet.Job.ID, step: s.step.ID}
	if line, _, among := strings.Cut(field, "."); among {
		for _, step := range s.sheet.Steps {
			if bench.Line(step.ID, "") == line+"." {
				at.step = step.ID
			}
		}
	}
	return at
}

func addFinding(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, f *form) error {
	found := bench.Found{Grade: f.text("asks"), Cause: f.text("cause"), Words: f.text("found"), Pictures: f.ids("foundpicture")}
	if err := f.with(bench.AddFinding(ctx, tx, by, jobID, found)); err != nil {
		return err
	}
	j, err := job.Get(ctx, tx, jobID)
	if err != nil {
		return err
	}
	return proposeFound(ctx, tx, by, f, plainly, j, nil, found)
}

func mendFinding(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, f *form) error {
	id := f.number("finding")
	if err := f.err(); err != nil {
		return err
	}
	if err := bench.Mend(ctx, tx, by, jobID, id, f.text("done")); err != nil {
		return err
	}
	return goahead.Release(ctx, tx, by, jobID)
}

func withdrawFinding(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, f *form) error {
	id := f.number("finding")
	if err := f.err(); err != nil {
		return err
	}
	if err := bench.Withdraw(ctx, tx, by, jobID, id, f.text("reason")); err != nil {
		return err
	}
	return goahead.Release(ctx, tx, by, jobID)
}
