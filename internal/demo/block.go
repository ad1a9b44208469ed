package demo

import (
	"context"
	"time"

	"damperdesk/internal/procedure"
)

// writeBlocks has Ragna put a quote in the shop's own words in force, and begin
// to change how the lowers are done.
func (s *seeder) writeBlocks(ctx context.Context) error {
	at := s.clock.before(6 * time.Hour)
	_, err := s.act(ctx, "reword the quote", s.staff["Ragna"], at, func(a acting) (string, error) {
		if err := procedure.BeginDraft(a.ctx, a.tx, a.by, "Q"); err != nil {
			return "", err
		}
		draft, err := procedure.InState(a.ctx, a.tx, "Q", procedure.StateDraft)
		if err != nil {
			return "", err
		}
		step := *draft.Step("Q2")
		step.Title, step.Text = "Parts bagged, tray labelled, oil wiped", "Bag the small parts by where they belong, one tray for each unit, its label to the front of the rack. "+step.Text
		if err := procedure.PutStep(a.ctx, a.tx, a.by, "Q", draft.Version, step, ""); err != nil {
			return "", err
		}
		return "", procedure.PutInForce(a.ctx, a.tx, a.by, "Q", draft.Version+1, "The rack by the window has labels now.")
	})
	if err != nil {
		return err
	}
	_, err = s.act(ctx, "think about the lowers", s.staff["Ragna"], at.Add(20*time.Minute), func(a acting) (string, error) {
		if err := procedure.BeginDraft(a.ctx, a.tx, a.by, "W"); err != nil {
			return "", err
		}
		return "", procedure.PutStep(a.ctx, a.tx, a.by, "W", 1, procedure.Step{
			Kind: procedure.Wait, Minutes: 10, Title: "Let the lowers dry", Place: "lower-left lower-right",
			Text: "Stand the lowers upside down on the rack. It is right when both legs are dry down to the foot.",
		}, "W2")
	})
	return err
}
