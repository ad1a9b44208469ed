package templates

import (
	"cmp"
	"strconv"

	"damperdesk/internal/bench"
	"damperdesk/internal/job"
	"damperdesk/internal/staff"
)

// PickerPage asks on a tablet who is at the bench. Whoever is signed in already
// stays so until somebody else gives a PIN.
type PickerPage struct {
	Base
	Device staff.Device
	Next   string // the path to go on to; "/" for where each left off
	Back   string // where whoever is signed in goes on
	Lost   bool
	Kept   []KeptField
	People []staff.Person
	Places map[int64]bench.Place // where they left off, by person
}

// note says under a name what they are on, else what they do here.
func (p PickerPage) note(who staff.Person) string {
	if !who.HasPIN {
		return "pass-phrase first, then a PIN under your name"
	}
	at, working := p.Places[who.ID]
	switch {
	case !working:
		return rolesOf(who)
	case at.Stage == job.FinalCheck:
		return "final check of " + num(at.Number)
	case at.Next == nil:
		return "on " + num(at.Number)
	}
	return "on " + num(at.Number) + ", step " + num(at.Next.Seq) + " of " + num(at.Steps)
}

// goWords is what the press does for somebody: "Go to step 22".
func (p PickerPage) goWords(who staff.Person) string {
	if at, working := p.Places[who.ID]; working && at.Next != nil && p.Next == "/" && who.Has("mechanic") {
		return "Go to step " + num(at.Next.Seq)
	}
	return "Go on"
}

// TabletsPage lists the tablets, and makes this device one.
type TabletsPage struct {
	Base
	Tablets []staff.Device
	Lit     bool // bench pages can keep the screen lit
}

// TabletPage is one tablet. Each form has a Base of its own.
type TabletPage struct {
	Base
	Tablet         staff.Device
	Rename, Revoke Base
}

func tabletPath(id int64) string { return "/tablets/" + strconv.FormatInt(id, 10) }

// enrolled says when and by whom a tablet was enrolled.
func (b Base) enrolled(d staff.Device) string {
	return "enrolled " + b.When(d.EnrolledAt) + " by " + cmp.Or(d.EnrolledBy, "the program")
}

func (b Base) used(d staff.Device) string {
	if d.UsedAt == nil {
		return "nothing recorded on it yet"
	}
	return b.When(*d.UsedAt)
}

func pinField() Field {
	return Field{Name: "pin", Keyboard: "numeric", Required: true, Attributes: map[string]any{"maxlength": "12"}}
}
