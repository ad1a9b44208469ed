package templates

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/stock"
	"damperdesk/internal/tool"
)

// StepPage is one step of a bench sheet: to be given a value, to be signed
// alone or with the lines beside it, or as it was signed.
type StepPage struct {
	Base    // of the form that signs
	Sheet   bench.Sheet
	Step    *bench.Step
	Lines   []*bench.Step // that share a press; just the step when it is alone
	Among   bool          // the form of several lines came back, whatever is left of them
	Twin    *bench.Step   // the same on the other side, nil for none
	Blocker *bench.Step   // what has to be signed first, nil for nothing
	Choices []tool.Choice // for a torque, best first
	Tool    *tool.Choice  // the one chosen to begin with, nil for none
	Parked  []bench.Parked
	Before  map[string][]bench.Earlier // what was read on earlier jobs, by the step's key
	Charted map[string]bench.Charted   // what the set-up chart gives, by the step's key
	Fluids  []string                   // of the shop, for a volume
	Needs   []partslist.Need           // of the shelf, at its lines
	Bottles map[int64]stock.Bottle     // open ones of their fluids
	Opened  int64                      // the newest sign-off of the sheet when the page was opened
	Value   Base                       // value and source given here
	Cross   Base                       // crossing out
	Allow   Base                       // letting a tool be used that does not suit
}

func (p StepPage) path(act string) string { return stepPath(p.Sheet.Job.ID, p.Step.ID) + act }

func (p StepPage) mayWork() bool { return mayWork(p.Base, p.Sheet) }

// Which of its forms the page shows.
func (p StepPage) signs() bool {
	return p.mayWork() && p.Step.Done == nil && p.Blocker == nil && !p.Step.NeedsValue()
}
func (p StepPage) together() bool { return p.signs() && (p.Among || len(p.Lines) > 1) }
func (p StepPage) needsValue() bool {
	return p.mayWork() && p.Step.Done == nil && p.Blocker == nil && p.Step.NeedsValue()
}
func (p StepPage) checks() bool {
	return p.mayWork() && p.Step.Done != nil && p.Step.SecondCheck && p.Step.Checked == nil
}

// seqs numbers the step, or the two that share the screen.
func (p StepPage) seqs() string {
	if !p.pair() {
		return "Step " + num(p.Step.Seq)
	}
	return fmt.Sprintf("Steps %d and %d", min(p.Step.Seq, p.Twin.Seq), max(p.Step.Seq, p.Twin.Seq))
}

// pair says whether the screen is for both sides, one press each.
func (p StepPage) pair() bool { return p.Twin != nil && p.Step.Done == nil }

// heading is what the step is called, for a pair without its side.
func (p StepPage) heading() string {
	if name, sided := strings.CutSuffix(p.Step.Title, ", "+side(p.Step)); sided && p.pair() {
		return name + ", rider’s left and right"
	}
	return p.Step.Title
}

// otherSide says whether the press before was for the other side, so that the
// next one needs no looking.
func (p StepPage) otherSide() bool { return p.pair() && p.Twin.Done != nil && !p.unsent() }

// mayTurn says whether the other side may go first.
func (p StepPage) mayTurn() bool { return p.Twin.Done == nil && p.Sheet.BlockedBy(p.Twin) == nil }

// many says whether the lines are so many that their texts are folded.
func (p StepPage) many() bool {
	numbers := 0
	for _, s := range p.Lines {
		if wantsValue(s) || wantsCount(s) {
			numbers++
		}
	}
	return len(p.Lines) > 3 || numbers > 2
}

func (p StepPage) place() string {
	return "of " + num(len(p.Sheet.Steps)) + ", " + strings.ToLower(p.Step.BlockTitle) + ", " + string(p.Step.Kind)
}

// lit is every place of the drawing that the step, or its twin, is about.
func (p StepPage) lit() []string {
	var lit []string
	for place := range strings.FieldsSeq(p.Step.Place) {
		lit = append(lit, ForkPlaces(place)...)
	}
	if p.Twin != nil {
		lit = append(lit, ForkPlaces(p.Twin.Place)...)
	}
	return lit
}

func (p StepPage) drawn() bool { return p.Sheet.Job.Kind == "fork" && len(p.lit()) > 0 }

// ringed is the one side that the press is for.
func (p StepPage) ringed() string {
	if p.Twin == nil {
		return ""
	}
	return p.Step.Place
}

func (p StepPage) drawingWords() string {
	words := "Fork from the front. Marked: " + ForkWords(p.lit())
	if p.ringed() != "" {
		words += "; ringed: " + ForkWords([]string{p.ringed()})
	}
	return words + "."
}

// side is "rider’s left" for a step whose place is on one side.
func side(s *bench.Step) string {
	_, side, _ := strings.Cut(s.Place, "-")
	return "rider’s " + side
}

func (p StepPage) signWords() string {
	if p.Twin != nil {
		return "Sign " + side(p.Step)
	}
	return "Sign"
}

// ruler draws the window, where there is one.
func (p StepPage) ruler() (Ruler, bool) {
	w, ok := p.Step.Window()
	if !ok || w.Minus+w.Plus == 0 || !physical(p.Step.Quantity) {
		return Ruler{}, false
	}
	unit := p.unit(*p.Step)
	at := func(si float64) float64 { return quantity.Convert(p.Step.Quantity, si, unit) }
	text := func(si float64) string { return quantity.FormatNumber(p.Step.Quantity, si, unit) }
	low, high := w.Nominal-w.Minus, w.Nominal+w.Plus
	return Ruler{
		Low: at(low), Target: at(w.Nominal), High: at(high),
		LowText: text(low), TargetText: text(w.Nominal), HighText: text(high),
		Label: "Window " + p.window(*p.Step, w) + ", target " + text(w.Nominal) + ".",
	}, true
}

// wantsValue and wantsCount say which field a step has to be signed with.
func wantsValue(s *bench.Step) bool {
	return s.Kind == procedure.Torque || s.Kind == procedure.Volume ||
		s.Kind == procedure.Reading && physical(s.Quantity) && len(s.Grades) == 0
}
func wantsCount(s *bench.Step) bool { return s.Kind == procedure.Count && !s.Named() }

func (p StepPage) valueField(s *bench.Step, name string) Field {
	label := "Reads"
	switch s.Kind {
	case procedure.Torque:
		if !p.reads() {
			label = "Set to"
		}
	case procedure.Volume:
		label = "Went in"
	}
	unit := p.keyUnit(s)
	f := Field{Name: name, Label: label, Unit: string(unit), Keyboard: "decimal",
		Attributes: map[string]any{"data-step": strconv.FormatFloat(quantity.Step(unit), 'f', -1, 64)}}
	if w, ok := s.Window(); ok && s.Kind == procedure.Torque {
		f.Attributes["data-from"] = quantity.FormatNumber(s.Quantity, w.Nominal, unit)
	}
	return f
}

// wordsField is for a step that is answered in words.
func wordsField(name string) Field {
	return Field{Name: name, Label: "What was done", Required: true,
		Hint: "It stands on the sheet, in the history and on the customer’s page."}
}

func (p StepPage) noteField() Field {
	return Field{Name: "note", Label: "Rider’s note", Value: p.Sheet.Job.RiderNote, Required: true,
		Hint: "Two or three sentences in plain words; they stand on top of the customer’s page."}
}

// minutesField begins at what the sign-offs let one guess.
func (p StepPage) minutesField() Field {
	f := Field{Name: "count", Label: "Minutes at the bench", Unit: "min", Keyboard: "numeric", Hint: "Empty where nobody can say.",
		Attributes: map[string]any{"data-step": "5"}}
	if about := p.Sheet.AboutMinutes(); about > 0 {
		f.Value, f.Hint = num(about), "About "+num(about)+" minutes?"
	}
	return f
}

// meanwhile says who else signed the step, or lines beside it, since the page
// was opened; empty where nobody did.
func (p StepPage) meanwhile() string {
	who, lines := "", []string{}
	for _, s := range p.Sheet.Steps {
		beside := s.ID == p.Step.ID || p.Step.Group != "" && s.Group == p.Step.Group
		if d := s.Done; beside && d != nil && d.ActorID != p.Person.ID && d.ID > p.Opened {
			who, lines = d.Actor, append(lines, num(s.Seq))
		}
	}
	switch {
	case who == "":
		return ""
	case p.Step.Group == "":
		return "Signed meanwhile by " + who + "."
	}
	return "Signed meanwhile by " + who + ": " + strings.Join(lines, ", ") + "."
}

// counts says what is counted for a spec key and from where. A setting is
// counted in turns or positions where its adjuster has no clicks.
func counts(specKey string) (unit, from string) {
	switch k, _ := spec.Find(specKey); {
	case specKey == "volume spacers":
		return "spacers", "spacers"
	case specKey == "preload turns":
		return "turns", "turns in"
	case k.Adjuster != "" && !k.Setting:
		return k.Form, "closed to open"
	case k.Form == "turns":
		return "turns", "turns from closed"
	}
	return "", "from closed"
}

func countField(name string, s *bench.Step) Field {
	_, from := counts(s.SpecKey)
	keyboard := "numeric"
	if countStep(s) < 1 {
		keyboard = "decimal"
	}
	return Field{Name: name, Label: "Counted", Unit: from, Keyboard: keyboard, Attributes: map[string]any{"data-step": countText(countStep(s))}}
}

// countWords is a count with what was counted: "2.5 turns", "1 spacer", "14 from
// closed" where the adjuster may have clicks or anything else.
func countWords(specKey string, n float64) string {
	unit, from := counts(specKey)
	switch {
	case unit == "":
		unit = from
	case n == 1:
		unit = strings.TrimSuffix(unit, "s")
	}
	return countText(n) + "\u00a0" + unit
}

// countStep is what a press changes a count by: half a turn, else one.
func countStep(s *bench.Step) float64 {
	if key, _ := spec.Find(s.SpecKey); key.Form == "turns" {
		return 0.5
	}
	return 1
}

// countText prints a count: "14", "2.5".
func countText(n float64) string { return strconv.FormatFloat(n, 'f', -1, 64) }

// count is countText as customers read it.
func (b Base) count(n float64) string { return b.Prefs.decimals(countText(n)) }

func fluidField(value string, required bool) Field {
	return Field{Name: "fluid", Label: "Fluid", Value: value, Required: required, Attributes: map[string]any{"list": "fluids"}}
}

// specUnit stands behind the specified value.
func (p StepPage) specUnit() string {
	if unit, _ := counts(p.Step.SpecKey); unit != "" {
		if w, ok := p.Step.Window(); ok && w.Nominal == 1 {
			return strings.TrimSuffix(unit, "s")
		}
		return unit
	}
	return string(p.unit(*p.Step))
}

func writtenOptions() []Option {
	return []Option{
		{Value: "", Label: "now", Chosen: true},
		{Value: bench.HowPaper, Label: "from the printed sheet"},
		{Value: bench.HowAfterwards, Label: "afterwards"},
	}
}

// sourceWordsLabel asks for the words of the sources that serve for the step.
func sourceWordsLabel(s *bench.Step) string {
	switch key, _ := spec.Find(s.SpecKey); {
	case key.Measurable():
		return "Document and page, how measured, or what it is compared with"
	case key.NoJudgement:
		return "Document and page"
	}
	return "Document and page, or what it is compared with"
}

func sourceOptions(s *bench.Step) []Option {
	key, _ := spec.Find(s.SpecKey)
	list := []Option{{Value: spec.FromDocument, Label: "the maker’s document", Note: "say which, and the page"}}
	if key.Measurable() {
		list = append(list, Option{Value: spec.FromMeasuring, Label: "measured here", Note: "say how, if it is not plain"})
	}
	if !key.NoJudgement {
		list = append(list, Option{Value: spec.FromJudgement, Label: "own judgement, by comparison with", Note: "say with what; your name stands beside it ever after"})
	}
	list[0].Chosen = len(list) == 1
	return list
}

// answers says whether how the step ends stands in a part of its own. For a
// torque and a volume it stands in a line with what is unusual, so that the
// number stays in sight.
func (p StepPage) answers() bool {
	return p.Step.Kind != procedure.Torque && p.Step.Kind != procedure.Volume && !p.Step.Verdict()
}

// reasonApart says whether a reason is among what is unusual. Where the step may
// not apply, or one is asked for, it stands beside how the step ends instead:
// there is one reason on a page.
func (p StepPage) reasonApart() bool {
	return !p.answers() && !p.Step.Verdict() && !p.Step.MayNotApply() && !p.line().asked("reason")
}

// otherwise heads the part for what is unusual.
func (p StepPage) otherwise() string {
	if p.reasonApart() {
		return "Otherwise: a reason, from paper"
	}
	return "From paper, or afterwards"
}

// withInstrument says whether what a reading is taken with may be said.
func (p StepPage) withInstrument() bool {
	return p.Step.Kind == procedure.Reading && !p.Step.InWords() && !p.Step.Verdict()
}

// otherwiseOpen says whether that part is needed now.
func (p StepPage) otherwiseOpen() bool {
	if p.Step.Kind == procedure.Volume && p.Sheet.FluidFor(p.Step) != p.Step.Fluid {
		return true
	}
	names := []string{"fluid", "how", "instrument"}
	if p.reasonApart() {
		names = append(names, "reason")
	}
	return slices.ContainsFunc(names, func(name string) bool {
		usual := name == "fluid" && p.Base.Value("fluid", "") == p.Step.Fluid
		return p.Error(name) != "" || p.Typed != nil && p.Typed.Get(name) != "" && !usual && (!p.answers() || name == "how" || name == "instrument")
	})
}

// nominal is the number of the specified value, without its unit.
func (p StepPage) nominal(w bench.Window) string {
	return spec.ShowNumber(p.Step.Quantity, w.Nominal, p.unit(*p.Step))
}
