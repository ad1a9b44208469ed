package templates

import (
	"slices"

	"github.com/google/uuid"

	"damperdesk/internal/job"
)

// otherDrafts are those but the one on the page.
func (p DropOffPage) otherDrafts() []job.Draft {
	return slices.DeleteFunc(slices.Clone(p.Drafts), func(d job.Draft) bool { return d.ID.String() == p.Draft })
}

// throwing is the act of throwing one away: its own for each draft and page.
func (p DropOffPage) throwing(d job.Draft) string {
	page, err := uuid.Parse(p.Intent)
	if err != nil {
		return p.Intent
	}
	return uuid.NewSHA1(page, d.ID[:]).String()
}
