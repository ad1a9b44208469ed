package bench

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
)

// Why a picture step is signed that has no picture. The first stands where
// nobody said why.
const (
	NoneTaken = "no picture taken"
	NoCamera  = "no camera at hand"
)

// withoutPicture is the reason that a picture step is signed with: a short one
// where it has none, so that the bench goes on and the sheet says so.
func (s Step) withoutPicture(reason string) string {
	if s.Kind != procedure.Picture || len(s.Pictures) > 0 {
		return ""
	}
	return cmp.Or(reason, NoneTaken)
}

func (s *Sheet) hangPictures() {
	for _, p := range s.Pictures {
		if p.StepID == nil {
			continue
		}
		if step := s.Find(*p.StepID); step != nil {
			step.Pictures = append(step.Pictures, p)
		}
	}
}

// PicturesOf lists the pictures that show a finding, oldest first.
func (s Sheet) PicturesOf(f Finding) []picture.Picture {
	return slices.DeleteFunc(slices.Clone(s.Pictures), func(p picture.Picture) bool { return !slices.Contains(f.Pictures, p.ID) })
}

// attach says which pictures of the job show a finding.
func (s Sheet) attach(ctx context.Context, tx pgx.Tx, by history.By, f *Finding, pictures []int64) error {
	if len(pictures) == 0 {
		return nil
	}
	_, err := tx.Exec(ctx, `insert into finding_picture (finding_id, job_id, picture_id, actor_id, intent_id, at)
		select $1, $2, p, $4, $5, $6 from (select distinct unnest($3::bigint[]) as p) d order by p`,
		f.ID, s.Job.ID, pictures, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("picture of a finding: %w", db.Translate(err))
	}
	f.Pictures = pictures
	return nil
}

// AddPicture says that a picture of the job shows one of its findings too.
func AddPicture(ctx context.Context, tx pgx.Tx, by history.By, jobID, findingID, pictureID int64) error {
	sheet, err := lockSheet(ctx, tx, by, jobID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(sheet.Findings, func(f Finding) bool { return f.ID == findingID })
	if i < 0 {
		return fault.NotFound("There is no such finding on this job.")
	}
	if err := sheet.attach(ctx, tx, by, &sheet.Findings[i], []int64{pictureID}); err != nil {
		return err
	}
	return history.Append(ctx, tx, by, sheet.event("picture of a finding", map[string]any{"finding": findingID, "picture": pictureID}))
}
