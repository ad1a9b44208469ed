package templates

import (
	"slices"

	"github.com/a-h/templ"
	"github.com/google/uuid"

	"damperdesk/internal/job"
)

// otherDrafts are those but the one on the page.
func (p DropOffPage) otherDrafts() []job.Draft {
	return slices.DeleteFunc(slices.Clone(p.Drafts), func(d job.Draft) bool { return d.ID.String() == p.Draft })
}

// openedAs tells draft.js what the form holds: nothing yet, or what that hand
// kept last.
func (p DropOffPage) openedAs() templ.Attributes {
	switch {
	case p.Kept != nil:
		return templ.Attributes{"data-last": p.Kept.Hand.String()}
	case p.Typed == nil:
		return templ.Attributes{"data-fresh": true}
	}
	return nil
}

// ToldTaken stands for having told that the form is taken in.
const ToldTaken = "taken in"

// told is the draft of somebody else that the page tells of, or ToldTaken.
func (p DropOffPage) told() string {
	switch {
	case p.TakenIn != nil:
		return ToldTaken
	case p.Apart != nil:
		return p.Apart.Theirs.ID.String()
	}
	return ""
}

// throwing is the act of throwing one away: its own for each draft and page.
func (p DropOffPage) throwing(d job.Draft) string {
	page, err := uuid.Parse(p.Intent)
	if err != nil {
		return p.Intent
	}
	return uuid.NewSHA1(page, d.ID[:]).String()
}
