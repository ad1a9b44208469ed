package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"damperdesk/internal/fault"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/tool"
)

// Signing is a sign-off as a person gives it. Empty Role, Outcome and How mean
// done, done and the usual way for the kind of step.
type Signing struct {
	StepID  int64
	Role    string
	Outcome string
	How     string
	Value   *quantity.Value
	Count   *float64 // in quarters at the finest
	Grade   string
	Words   string // for a step that is answered in words
	ToolID  int64
	Fluid   string // empty: the fluid the sheet names
	// Instrument is what a reading was taken with; it may be left out.
	Instrument string
	Reason     string
	Alone      bool // a second check by the person who did the step
	Found      []Found

	owner bool // whoever signs may use a tool that does not suit, with a reason
}

// hows lists the ways each kind of step can be signed, the usual one first.
var hows = map[procedure.Kind][]string{
	procedure.Check:   {HowSeen, HowPaper, HowAfterwards},
	procedure.Torque:  {HowSet, HowMeasured, HowByHand, HowPaper, HowAfterwards},
	procedure.Volume:  {HowMeasured, HowPaper, HowAfterwards},
	procedure.Reading: {HowMeasured, HowSeen, HowPaper, HowAfterwards},
	procedure.Count:   {HowSeen, HowPaper, HowAfterwards},
	procedure.Wait:    {HowSeen, HowPaper, HowAfterwards},
	procedure.Fit:     {HowSeen, HowPaper, HowAfterwards},
	procedure.Picture: {HowSeen, HowPaper, HowAfterwards},
}

const (
	mostCount = 1000
	mostWords = 4000 // characters

	mostInstrument = 80 // characters
)

// fields gathers what is wrong, by form field.
type fields map[string]string

// bound refuses words that are longer than those of a finding.
func (f fields) bound(name, words string) {
	if utf8.RuneCountInString(words) > mostFound {
		f[name] = fmt.Sprintf("Write at most %d characters.", mostFound)
	}
}

func (f fields) err() error {
	if len(f) == 0 {
		return nil
	}
	return &fault.Invalid{Fields: f}
}

// settle makes the sign-off that will be stored, or says by field what is
// missing. The choices are the shop's torque tools as judged for the step.
func (s Step) settle(g Signing, choices []tool.Choice) (Signoff, error) {
	so := Signoff{
		StepID: s.ID, Role: RoleDone, Outcome: cmp.Or(g.Outcome, OutcomeDone),
		How: cmp.Or(g.How, hows[s.Kind][0]), Reason: strings.TrimSpace(g.Reason), InWindow: true,
	}
	f := fields{}
	if !slices.Contains(hows[s.Kind], so.How) {
		f["how"] = "A step of this kind is not signed that way."
	}
	switch so.Outcome {
	case OutcomeDone:
		s.settleDone(&so, g, choices, f)
	case OutcomeNot:
		s.settleNot(&so, f)
	case OutcomeUnknown:
		if !s.MayBeUnknown {
			f["outcome"] = "This one has to be known."
		}
		so.How = unmeasured(so.How)
	default:
		f["outcome"] = "Say whether it is done, unknown or does not apply."
	}
	if so.Outcome == OutcomeDone && so.InWindow && s.Simple() {
		so.Reason = s.withoutPicture(so.Reason) // else typed for another answer, and not asked for
	}
	for i := range g.Found {
		g.Found[i].settle(f)
	}
	f.bound("reason", so.Reason)
	f.bound("fluid", so.Fluid)
	if len(g.Found) > 0 && so.Outcome == OutcomeNot {
		f["outcome"] = "Something is found at a step that applies."
	}
	return so, f.err()
}

// settleNot judges "does not apply".
func (s Step) settleNot(so *Signoff, f fields) {
	if !s.MayNotApply() {
		f["outcome"] = "A torque, a volume, a stop-here and a step with a second check always apply."
	}
	if so.Reason == "" {
		f["reason"] = "Say why it does not apply."
	}
	so.How = unmeasured(so.How)
}

func unmeasured(how string) string {
	if how == HowPaper || how == HowAfterwards {
		return how
	}
	return HowSeen
}

func (s Step) settleDone(so *Signoff, g Signing, choices []tool.Choice, f fields) {
	switch s.Kind {
	case procedure.Torque:
		s.settleTorque(so, g, choices, f)
	case procedure.Volume:
		s.settleVolume(so, g, f)
	case procedure.Reading:
		s.settleReading(so, g, f)
	case procedure.Count:
		so.Grade = g.Grade
		s.settleCount(so, g.Count, f)
	default:
		s.settleGrade(so, g.Grade, f)
		if g.Count != nil {
			s.settleCount(so, g.Count, f)
		}
	}
}

func (s Step) settleTorque(so *Signoff, g Signing, choices []tool.Choice, f fields) {
	if s.NeedsValue() {
		f["value"] = "There is no torque for this yet: give the value and its source first."
		return
	}
	if so.How == HowByHand {
		s.settleByHand(so, choices, f)
		return
	}
	s.settleTool(so, g, choices, f)
	s.settleValue(so, g.Value, "Say what the wrench was set to or showed.", f)
}

// settleByHand takes a fastener that is tightened by hand: one below the scale of
// every tool in use needs no reason, and one on which a life hangs is never
// tightened so.
func (s Step) settleByHand(so *Signoff, choices []tool.Choice, f fields) {
	if key, ok := spec.Find(s.SpecKey); ok && key.NoJudgement {
		f["tool"] = "This one is never tightened by hand: it takes a torque tool that reaches it."
		return
	}
	reached := func(c tool.Choice) bool { return c.Tool.State == tool.InUse && c.Tool.RangeMinNm <= *s.NominalSI }
	suits := slices.IndexFunc(choices, func(c tool.Choice) bool { return c.Usable })
	switch {
	case so.Reason != "":
	case suits >= 0:
		f["reason"] = choices[suits].Tool.Name + " suits this torque: say why it was tightened by hand."
	case slices.ContainsFunc(choices, reached):
		f["reason"] = "It is not below the scale of the smallest tool: say why it was tightened by hand."
	}
}

// settleTool takes what a click wrench was set to as set, what another shows as
// measured.
func (s Step) settleTool(so *Signoff, g Signing, choices []tool.Choice, f fields) {
	i := slices.IndexFunc(choices, func(c tool.Choice) bool { return c.Tool.ID == g.ToolID })
	if i < 0 {
		f["tool"] = "Choose the wrench from the list, or say it was tightened by hand."
		return
	}
	c := choices[i]
	so.ToolID, so.Tool = &c.Tool.ID, c.Tool.Name
	clicks := Clicks(c.Tool)
	switch {
	case g.How == HowMeasured && clicks:
		f["how"] = "A click wrench gives no reading: sign it as set."
	case g.How == "" && !clicks:
		so.How = HowMeasured
	}
	switch {
	case c.Usable:
	case c.Allowed != "":
		so.Reason = strings.Join(slices.DeleteFunc([]string{so.Reason, c.Allowed}, func(s string) bool { return s == "" }), "; ")
	case !g.owner:
		f["tool"] = c.Tool.Name + ": " + c.Why + " Only the owner can let it be used."
	case so.Reason == "":
		f["reason"] = c.Tool.Name + ": " + c.Why + " Say why it was used."
	}
}

func (s Step) settleVolume(so *Signoff, g Signing, f fields) {
	if s.NeedsValue() {
		f["value"] = "There is no amount for this yet: give the value and its source first."
		return
	}
	so.Fluid = cmp.Or(strings.TrimSpace(g.Fluid), s.Fluid)
	switch {
	case so.Fluid == "":
		f["fluid"] = "Say which fluid went in."
	case s.Fluid != "" && so.Fluid != s.Fluid && so.Reason == "":
		f["reason"] = "The sheet names another fluid, " + s.Fluid + ": say why."
	}
	s.settleValue(so, g.Value, "Say how much went in.", f)
}

// settleReading takes a grade where the step has a scale, with the figure
// beside it if there is one; else the figure, or words where there is none.
func (s Step) settleReading(so *Signoff, g Signing, f fields) {
	if s.InWords() {
		s.settleWords(so, g.Words, f)
		return
	}
	if so.Instrument = strings.TrimSpace(g.Instrument); utf8.RuneCountInString(so.Instrument) > mostInstrument {
		f["instrument"] = fmt.Sprintf("Write at most %d characters.", mostInstrument)
	}
	s.settleGrade(so, g.Grade, f)
	if g.Value != nil || len(s.Grades) == 0 && s.Quantity != "" {
		s.settleValue(so, g.Value, "Type what it reads.", f)
	} else {
		so.How = unmeasured(so.How)
	}
	if g.Count != nil {
		s.settleCount(so, g.Count, f)
	}
}

func (s Step) settleWords(so *Signoff, words string, f fields) {
	so.How, so.Entered = unmeasured(so.How), strings.TrimSpace(words)
	switch {
	case so.Entered == "":
		f["words"] = "Write what was done."
	case utf8.RuneCountInString(so.Entered) > mostWords:
		f["words"] = fmt.Sprintf("Write at most %d characters.", mostWords)
	}
}

func (s Step) settleGrade(so *Signoff, grade string, f fields) {
	if len(s.Grades) == 0 {
		return
	}
	so.Grade = grade
	if !slices.Contains(s.Grades, grade) {
		f["grade"] = "Choose one: " + strings.Join(s.Grades, ", ") + "."
	}
}

// settleCount takes a count: that of a named position by its name, turns in
// quarters, anything else in whole ones.
func (s Step) settleCount(so *Signoff, count *float64, f fields) {
	if s.Named() {
		if s.settleGrade(so, so.Grade, f); f["grade"] == "" {
			at := float64(slices.Index(s.Grades, so.Grade))
			so.Count = &at
		}
		return
	}
	key, _ := spec.Find(s.SpecKey)
	switch {
	case count == nil:
		f["count"] = "Type the number counted."
		return
	case *count < 0 || *count > mostCount || key.Form != "turns" && *count != math.Trunc(*count):
		f["count"] = "Type a whole number from 0 to 1000."
		return
	case *count*4 != math.Trunc(*count*4):
		f["count"] = "Count turns to a quarter: 2.25, 2.5 or 2.75."
		return
	}
	so.Count = count
	if s.Quantity == spec.KindCount {
		s.settleWindow(so, *count, f)
	}
}

func (s Step) settleValue(so *Signoff, v *quantity.Value, missing string, f fields) {
	switch {
	case v == nil:
		f["value"] = missing
		return
	case !s.measuredIn(v.Unit):
		f["value"] = "That is in " + string(v.Unit) + ", which does not measure this."
		return
	case s.CeilingSI != nil && !(Window{Nominal: *s.CeilingSI, Minus: *s.CeilingSI}).Holds(s.Quantity, v.SI, v.Unit):
		f["value"] = "Never above the maximum on the spec sheet, " + quantity.FormatDown(s.Quantity, *s.CeilingSI, v.Unit) + "."
		return
	}
	so.ValueSI, so.Entered, so.ShownUnit = &v.SI, v.Entered, v.Unit
	s.settleWindow(so, v.SI, f)
}

// measuredIn reports whether the step's value may be stated in the unit.
func (s Step) measuredIn(unit quantity.Unit) bool {
	if key, ok := spec.Find(s.SpecKey); ok {
		return key.HasUnit(unit)
	}
	return unit.Kind() == s.Quantity
}

// settleWindow asks for a reason outside the window. A setting is the rider's
// to choose, so its value on the sheet is no window.
func (s Step) settleWindow(so *Signoff, si float64, f fields) {
	w, ok := s.Window()
	key, _ := spec.Find(s.SpecKey)
	if !ok || key.Setting || w.Holds(s.Quantity, si, so.ShownUnit) {
		return
	}
	so.InWindow = false
	if so.Reason == "" {
		shown := spec.Show(s.Quantity, si, so.ShownUnit)
		if s.Kind == procedure.Torque {
			shown = ShowSetting(si, so.ShownUnit)
		}
		f["reason"] = shown + " is outside " + w.Text(s.Quantity, so.ShownUnit) + ": say why."
	}
}
