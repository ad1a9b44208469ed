package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// How a finding is answered, once. The original stays to be read.
const (
	Withdrawn = "withdrawn" // it was wrong
	PutRight  = "put right" // it was so, and is no longer
)

// Withdraw takes back a finding of the job with a reason.
func Withdraw(ctx context.Context, tx pgx.Tx, by history.By, jobID, findingID int64, reason string) error {
	sheet, f, err := lockFinding(ctx, tx, by, jobID, findingID)
	if err != nil {
		return err
	}
	reason = strings.TrimSpace(reason)
	switch {
	case reason == "":
		return fault.Field("reason", "Say why it is withdrawn.")
	case utf8.RuneCountInString(reason) > mostFound:
		return fault.Field("reason", fmt.Sprintf("Write at most %d characters.", mostFound))
	}
	return sheet.answer(ctx, tx, by, f, Withdrawn, reason)
}

// Mend says what was done about a finding of the job, which from then on stands
// in nobody's way. The second checks that SecondLooks lists are crossed out.
func Mend(ctx context.Context, tx pgx.Tx, by history.By, jobID, findingID int64, done string) error {
	sheet, f, err := lockFinding(ctx, tx, by, jobID, findingID)
	if err != nil {
		return err
	}
	done = strings.TrimSpace(done)
	switch {
	case done == "":
		return fault.Field("done", "Say in a sentence what was done.")
	case utf8.RuneCountInString(done) > mostFound:
		return fault.Field("done", fmt.Sprintf("Write at most %d characters.", mostFound))
	}
	if err := sheet.answer(ctx, tx, by, f, PutRight, done); err != nil {
		return err
	}
	for _, so := range sheet.SecondLooks(f) {
		if err := sheet.crossOut(ctx, tx, by, so, "Put right since: "+done, ""); err != nil {
			return err
		}
	}
	return nil
}

// lockFinding reads the sheet of a job with a finding that may be answered.
func lockFinding(ctx context.Context, tx pgx.Tx, by history.By, jobID, findingID int64) (Sheet, Finding, error) {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return Sheet{}, Finding{}, err
	}
	i := slices.IndexFunc(sheet.Findings, func(f Finding) bool { return f.ID == findingID })
	if i < 0 {
		return Sheet{}, Finding{}, fault.NotFound("There is no such finding on this job.")
	}
	f := sheet.Findings[i]
	if err := sheet.refuseFinding(); err != nil {
		return Sheet{}, Finding{}, err
	}
	if f.Answer != "" {
		return Sheet{}, Finding{}, fault.Conflict("This finding is " + f.Answer + " already.")
	}
	return sheet, f, nil
}

func (s Sheet) answer(ctx context.Context, tx pgx.Tx, by history.By, f Finding, kind, words string) error {
	_, err := tx.Exec(ctx, "insert into finding_answer (finding_id, kind, words, actor_id, intent_id, at) values ($1, $2, $3, $4, $5, $6)",
		f.ID, kind, words, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("answer a finding: %w", db.Translate(err))
	}
	return history.Append(ctx, tx, by, s.event("finding "+kind, map[string]any{"finding": f.ID}))
}

// SecondLooks lists the second checks that no longer count once a finding is
// put right, and what goes with them. Whoever gave one saw the unit as it was
// not to be ridden: on the step where that was found or the one that looks at
// it again, and on the verdict where its step asks for a second check.
func (s Sheet) SecondLooks(f Finding) []Signoff {
	if f.Grade != FoundUnsafe {
		return nil
	}
	keys := []string{keyNote}
	if f.StepID != nil {
		at := s.Find(*f.StepID).Key
		keys = append(keys, at, rechecked[at])
	}
	var list []Signoff
	for _, step := range s.Steps {
		if step.Checked == nil || !slices.Contains(keys, step.Key) {
			continue
		}
		for _, so := range s.Undone(step.Checked.ID) {
			if !slices.ContainsFunc(list, func(had Signoff) bool { return had.ID == so.ID }) {
				list = append(list, so)
			}
		}
	}
	return list
}
