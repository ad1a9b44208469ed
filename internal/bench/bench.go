// Package bench is the mechanic's sheet of one job: its steps, copied and
// filled when work starts, the sign-offs on them, and the crossings-out that
// answer wrong ones. Nothing here is ever changed or deleted; what counts is
// derived from what was added.
//
// Writers lock the job's row first, so that of two devices signing one step at
// once the second sees the first one's sign-off and is told who it was.
package bench

import (
	"slices"
	"time"

	"github.com/google/uuid"

	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
)

// What a sign-off says a person did with the step.
const (
	RoleDone    = "done"
	RoleChecked = "checked" // the second check, by another person
)

// How a sign-off ends.
const (
	OutcomeDone    = "done"
	OutcomeNot     = "does not apply"
	OutcomeUnknown = "unknown"
)

// How a sign-off came to be.
const (
	HowSet        = "set"        // by a click wrench, which gives no reading
	HowMeasured   = "measured"   // by a tool that shows a value
	HowByHand     = "by hand"    // below the smallest wrench
	HowSeen       = "seen"       // looked at
	HowPaper      = "paper"      // copied from the printed sheet
	HowAfterwards = "afterwards" // signed when it was done a while ago
)

// The block codes that carry rules of their own.
const (
	blockInspect = "A"
	blockStrip   = "S"
	blockProve   = "V" // the final check
)

// Step is a step of one job's sheet with what has been signed on it. Values
// are in SI.
type Step struct {
	ID           int64
	Seq          int     `db:"-"` // counts the lines of the sheet from 1; 0 for one no longer asked
	Rank         float64 // its place; other lines may come between
	Block        string
	BlockTitle   string
	Key          string
	Kind         procedure.Kind
	Title        string
	Text         string
	Caution      string
	Place        string
	SpecKey      string
	Quantity     quantity.Kind
	NominalSI    *float64 // nil: no value yet
	MinusSI      float64
	PlusSI       float64
	ShownUnit    quantity.Unit
	Fluid        string
	Source       string
	GivenHere    bool     // value and source were given at the bench
	CeilingSI    *float64 // never above this, whatever the window
	Grades       []string
	Group        string `db:"grp"` // signed with one press, if not empty
	StopHere     bool
	SecondCheck  bool
	MayBeUnknown bool
	Tools        string     // to lay out, in words
	Parts        string     // that it fits, in words
	Minutes      int        // how long a wait stands at least, 0 for none
	Begun        *time.Time // when somebody let the wait begin, nil for nobody
	Fasteners    int        // that one sign-off of a torque tightens
	AddedFor     string     // the service that brought it after work had started; where not asked, the one taken off
	Asked        bool
	Unsure       bool // asked only because a fact was not known at the start

	SheetValueID *int64
	Allowed      []Allowance // tools that do not suit

	Done    *Signoff  `db:"-"` // live, else nil
	Checked *Signoff  `db:"-"` // live, else nil
	Crossed []Crossed `db:"-"` // oldest first

	Pictures []picture.Picture `db:"-"` // taken at it, oldest first
}

// Signoff is a person's statement that a step is done or checked.
type Signoff struct {
	ID         int64
	StepID     int64
	Role       string
	Outcome    string
	How        string
	ValueSI    *float64
	Count      *float64
	Grade      string
	Entered    string
	ShownUnit  quantity.Unit
	ToolID     *int64
	Tool       string
	Fluid      string
	Instrument string // of a reading, where somebody said so
	InWindow   bool
	Reason     string
	Together   *uuid.UUID // shared by lines signed with one press
	Alone      bool
	ActorID    int64
	Actor      string
	Device     string // the tablet it was stored on, empty for none
	At         time.Time
}

// Crossed is a sign-off that no longer counts, and who said so and why.
type Crossed struct {
	Signoff
	OutID    int64
	Why      string
	OutBy    string
	OutAt    time.Time
	Replaced bool // another sign-off of its role stands in its place
	// AddedService is the code of the service whose adding undid it, if any.
	AddedService string
}

// Window is where the step's value should lie; ok is false without a value.
func (s Step) Window() (w Window, ok bool) {
	if s.NominalSI == nil {
		return Window{}, false
	}
	return Window{*s.NominalSI, s.MinusSI, s.PlusSI}, true
}

// Live reports whether nothing of the step is left to sign, the second check
// included.
func (s Step) Live() bool {
	return s.Done != nil && (!s.SecondCheck || s.Checked != nil)
}

// NeedsValue reports whether a value and its source have to be given before
// the step can be signed.
func (s Step) NeedsValue() bool {
	return (s.Kind == procedure.Torque || s.Kind == procedure.Volume) && (s.NominalSI == nil || s.Source == "")
}

// Named reports whether a count is of a lever whose positions have names, which
// are its grades: the first one is closed.
func (s Step) Named() bool { return s.Kind == procedure.Count && len(s.Grades) > 0 }

// InWords reports whether the step is answered in words: a reading that is
// neither measured nor graded. The words stand in the sign-off's Entered.
func (s Step) InWords() bool {
	return s.Kind == procedure.Reading && s.Quantity == "" && len(s.Grades) == 0
}

// Verdict reports whether the step is the mechanic's word on riding, which is
// signed with the rider's note and the minutes at the bench as its count.
func (s Step) Verdict() bool { return s.Key == keyNote }

// Simple reports whether the step may be signed together with others.
func (s Step) Simple() bool {
	return s.Kind != procedure.Torque && s.Kind != procedure.Volume && !s.StopHere && !s.SecondCheck
}

// MayNotApply reports whether the step may be signed as one that does not
// apply. What guards people or parts always applies, unless it was asked only
// because a fact was not known.
func (s Step) MayNotApply() bool { return s.Simple() || s.Unsure }

// Signed counts the steps with nothing left to sign.
func (s Sheet) Signed() int {
	n := 0
	for _, step := range s.Steps {
		if step.Live() {
			n++
		}
	}
	return n
}

// Find returns the step with that id, nil when it is of another sheet.
func (s Sheet) Find(id int64) *Step {
	i := slices.IndexFunc(s.Steps, func(step Step) bool { return step.ID == id })
	if i < 0 {
		return nil
	}
	return &s.Steps[i]
}

// ByKey returns the step with that key, such as "Z7", nil when the sheet has
// none.
func (s Sheet) ByKey(key string) *Step {
	i := slices.IndexFunc(s.Steps, func(step Step) bool { return step.Key == key })
	if i < 0 {
		return nil
	}
	return &s.Steps[i]
}
