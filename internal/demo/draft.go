package demo

import (
	"context"
	"errors"
	"fmt"
	"time"

	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// addRevisions has the sheet of one model corrected from a later letter of its
// maker, and leaves the draft of another to be checked.
func (s *seeder) addRevisions(ctx context.Context, at time.Time) error {
	ids, err := s.modelIDs(ctx)
	if err != nil {
		return err
	}
	marit, ines := s.staff["Marit"], s.staff["Ines"]
	err = s.revise(ctx, "Berm", ids["Berm"], ines, at.AddDate(0, 1, 0), func(a acting, sheet spec.Sheet, letter int64) error {
		play := find(sheet, "play limit")
		play.NominalSI, play.DocumentID, play.Page = 0.25e-3, &letter, "2"
		if err := spec.PutValue(a.ctx, a.tx, a.by, sheet.ID, sheet.Version, play.ID, play); err != nil {
			return err
		}
		return a.then(marit, a.by.At.Add(24*time.Hour), func(by history.By) error { return spec.CheckSheet(a.ctx, a.tx, by, sheet.ID) })
	})
	if err != nil {
		return err
	}
	return s.revise(ctx, "Sill", ids["Sill"], marit, s.now.AddDate(0, 0, -1), func(a acting, sheet spec.Sheet, letter int64) error {
		foot := find(sheet, "foot bolt")
		foot.NominalSI, foot.Place, foot.Entered, foot.DocumentID, foot.Page = 7.5, "foot-left foot-right", "7.5 ± 0.5 N·m", &letter, "1"
		if err := spec.PutValue(a.ctx, a.tx, a.by, sheet.ID, sheet.Version, foot.ID, foot); err != nil {
			return err
		}
		bleed := spec.Value{Key: "bleed screw", Place: "top-right", NominalSI: 1, MinusSI: 0.2, PlusSI: 0.2, ShownUnit: quantity.NewtonMetre,
			Entered: "1 ± 0.2 N·m", SourceKind: spec.FromDocument, DocumentID: &letter, Page: "1"}
		return spec.PutValue(a.ctx, a.tx, a.by, sheet.ID, sheet.Version+1, 0, bleed)
	})
}

// revise begins the next revision of a model's sheet, with a letter to take
// values from.
func (s *seeder) revise(ctx context.Context, name string, model int64, who worker, at time.Time, write func(a acting, sheet spec.Sheet, letter int64) error) error {
	_, err := s.act(ctx, "read the letter about "+name, who, at, func(a acting) (string, error) {
		letter, err := spec.AddDocument(a.ctx, a.tx, a.by, model, name+" workshop letter", "2nd")
		if err != nil {
			return "", err
		}
		id, err := spec.BeginDraft(a.ctx, a.tx, a.by, model, true)
		if err != nil {
			return "", err
		}
		sheet, err := spec.GetSheet(a.ctx, a.tx, id)
		if err != nil {
			return "", err
		}
		if len(sheet.Values) == 0 {
			return "", errors.New("the sheet in force has no values")
		}
		return fmt.Sprint(id), write(a, sheet, letter)
	})
	return err
}

func find(sheet spec.Sheet, key string) spec.Value {
	v, _ := sheet.Value(key, "")
	return v
}
