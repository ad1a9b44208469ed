package templates

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// BenchPage is what a mechanic can go on with: own open sheets, jobs to start,
// and what the others have on the bench, each with what the board says of it.
type BenchPage struct {
	BoardPage
	Mine   []job.BoardRow
	Queue  []QueueRow
	Others []job.BoardRow
}

// QueueRow is a job that waits, with the act that starts it.
type QueueRow struct {
	job.BoardRow
	Intent string
}

// mayStart says whether whoever looks may put the job on the bench, where it can
// be opened and is not sent out.
func (r QueueRow) mayStart(b Base) bool {
	away := slices.ContainsFunc(r.Holds, func(h job.Wait) bool { return h.Kind == job.SentOut })
	return b.Person.Has("mechanic") && !r.Unopened && !away
}

// expectedWords says when a job will be ready and why then, as the board does;
// empty for what has no place in the line.
func (p BenchPage) expectedWords(r job.BoardRow) string {
	switch at, ready, why := p.expected(r); {
	case ready == "":
		return ""
	case at.IsZero():
		return ready + ": " + why
	case why == "":
		return "expected " + ready
	default:
		return "expected " + ready + ": " + why
	}
}

// remarkAlone is what can be said of a promise without the plan; known is false
// where that takes what else is in the line.
func (b Base) remarkAlone(j job.Job) (r job.Remark, known bool) {
	r = job.BoardRow{Stage: j.Stage, PromisedAt: j.PromisedAt, Holds: j.Holds}.Remark(b.Now, b.Prefs.zone())
	return r, !slices.Contains([]job.RemarkKind{job.RemarkTight, job.RemarkToday, job.RemarkOnTime}, r.Kind)
}

// progress is how far a sheet is: "21 of 26 signed".
func progress(signed, steps int) string { return fmt.Sprintf("%d of %d signed", signed, steps) }

func benchPath(jobID int64) string { return "/bench/" + strconv.FormatInt(jobID, 10) }

func stepPath(jobID, stepID int64) string {
	return benchPath(jobID) + "/steps/" + strconv.FormatInt(stepID, 10)
}

// firstStanding is the parked sheet whose time is up first, nil where nothing
// stands.
func (b Base) firstStanding(parked []bench.Parked) *bench.Parked {
	var first *bench.Parked
	for i, p := range parked {
		if p.Till != nil && (first == nil || p.Till.Before(*first.Till)) {
			first = &parked[i]
		}
	}
	return first
}

// parkedPath is where a parked sheet goes on.
func parkedPath(p bench.Parked) string {
	if p.NextID == 0 {
		return benchPath(p.JobID)
	}
	return stepPath(p.JobID, p.NextID)
}

// SheetPage is the whole bench sheet of one job.
type SheetPage struct {
	Base
	Inside   spec.Inside // as it is now
	Sheet    bench.Sheet
	Parked   []bench.Parked
	Offers   []procedure.Service // that the job has not
	Note     Base                // rider's note
	Ready    Base
	Reopen   Base
	Proposed []goahead.Proposal // in the whole visit
	Finding  Base               // adding one
	Picture  Base               // adding one, apart from steps and findings
	Mend     Base               // saying that one is put right
	Withdraw Base               // one
}

func (p SheetPage) path() string { return benchPath(p.Sheet.Job.ID) }

// mayWork says whether whoever looks may sign and cross out now.
func (p SheetPage) mayWork() bool { return mayWork(p.Base, p.Sheet) }

func mayWork(b Base, s bench.Sheet) bool {
	return b.Person.Has("mechanic") && (s.Job.Stage == job.OnBench || s.Job.Stage == job.FinalCheck)
}

func (p SheetPage) lead() string {
	lead := progress(p.Sheet.Signed(), len(p.Sheet.Steps)) + "."
	if at := p.Sheet.Job.StartedAt; at != nil {
		lead += " Filled from the spec sheet " + p.When(*at) + "."
	}
	return lead
}

// nextID is the id of the step to sign next, 0 for none.
func (p SheetPage) nextID() int64 {
	if next, _ := p.Sheet.Next(); next != nil {
		return next.ID
	}
	return 0
}

// lineClass draws a step as a stop on the line.
func (p SheetPage) lineClass(s bench.Step) string {
	class := "ahead"
	switch {
	case s.Live():
		class = "signed"
	case s.ID == p.nextID():
		class = "now"
	}
	if s.StopHere {
		class += " hold"
	}
	return class
}

// heads says whether the step begins a block, whose title then stands above.
func (p SheetPage) heads(i int) bool {
	return i == 0 || p.Sheet.Steps[i-1].BlockTitle != p.Sheet.Steps[i].BlockTitle
}

// benchRails draws the sheet as stops; now is the seq of the step shown, 0 for
// none.
func benchRails(s bench.Sheet, now int) Rails {
	rails := Rails{Now: now - 1}
	for _, step := range s.Steps {
		rails.Stops = append(rails.Stops, Stop{Signed: step.Live(), StopHere: step.StopHere})
	}
	return rails
}

// justSigned lists the last few sign-offs, oldest first.
func justSigned(s bench.Sheet) []bench.Step {
	signed := slices.DeleteFunc(slices.Clone(s.Steps), func(step bench.Step) bool { return step.Done == nil })
	slices.SortStableFunc(signed, func(a, b bench.Step) int { return int(a.Done.ID - b.Done.ID) })
	return signed[max(len(signed)-3, 0):]
}

// asks says in a few words what a step wants: "torque, 7.3 N·m", "volume, 5 to
// 7 mL, bath oil".
func (b Base) asks(s bench.Step) string {
	w, ok := s.Window()
	switch {
	case ok && s.Done == nil && s.Kind == procedure.Torque:
		return string(s.Kind) + ", " + spec.Show(s.Quantity, w.Nominal, b.unit(s))
	case ok && s.Done == nil && s.Fluid != "":
		return string(s.Kind) + ", " + b.window(s, w) + ", " + s.Fluid
	case ok && s.Done == nil:
		return string(s.Kind) + ", " + b.window(s, w)
	case s.NeedsValue():
		return string(s.Kind) + ", no value yet"
	case s.Kind == procedure.Check:
		return ""
	}
	return string(s.Kind)
}

// got says what was set, measured, counted or graded.
func (b Base) got(s bench.Step) string {
	d := s.Done
	if d == nil {
		return ""
	}
	if d.Outcome != bench.OutcomeDone {
		return d.Outcome
	}
	var parts []string
	if d.Grade != "" {
		parts = append(parts, d.Grade)
	}
	switch {
	case d.ValueSI != nil && d.How == bench.HowSet:
		parts = append(parts, "set to "+bench.ShowSetting(*d.ValueSI, d.ShownUnit)+", clicked")
	case d.ValueSI != nil:
		parts = append(parts, spec.Show(s.Quantity, *d.ValueSI, d.ShownUnit))
	case d.How == bench.HowByHand:
		parts = append(parts, "by hand")
	}
	if s.InWords() {
		parts = append(parts, d.Entered)
	}
	if d.Count != nil && s.Verdict() {
		parts = append(parts, countText(*d.Count)+" minutes at the bench")
	} else if d.Count != nil && !s.Named() {
		parts = append(parts, countWords(s.SpecKey, *d.Count))
	}
	return strings.Join(parts, ", ")
}

// with says by what it was done, and how it was written down.
func with(d bench.Signoff) string {
	var parts []string
	for _, words := range []string{d.Tool, d.Fluid, d.Instrument} {
		if words != "" {
			parts = append(parts, words)
		}
	}
	switch d.How {
	case bench.HowPaper:
		parts = append(parts, "from paper")
	case bench.HowAfterwards:
		parts = append(parts, "signed afterwards")
	}
	if d.Together != nil {
		parts = append(parts, "signed together")
	}
	return strings.Join(parts, ", ")
}

// unit is the unit a step is shown in: the shop's for its kind, else its own.
func (b Base) unit(s bench.Step) quantity.Unit {
	if unit := b.Prefs.Unit(s.Quantity); unit != "" {
		return unit
	}
	return s.ShownUnit
}

// caution is what the step warns of, with the number that is never gone over.
func (b Base) caution(s bench.Step) string {
	if s.CeilingSI == nil {
		return s.Caution
	}
	return strings.TrimSpace(s.Caution + " The maximum is " + quantity.FormatDown(s.Quantity, *s.CeilingSI, b.unit(s)) + ".")
}

func (b Base) window(s bench.Step, w bench.Window) string { return w.Text(s.Quantity, b.unit(s)) }

// otherWindow is the value and its window in the unit other tools are marked
// in: ", or 65 lbf·in (60 to 69)"; empty where there is none.
func (b Base) otherWindow(s bench.Step, w bench.Window) string {
	unit := b.Prefs.OtherUnit(s.Quantity)
	if unit == "" {
		return ""
	}
	low := quantity.FormatNumber(s.Quantity, w.Nominal-w.Minus, unit)
	high := quantity.FormatNumber(s.Quantity, w.Nominal+w.Plus, unit)
	words := ", or " + quantity.Format(s.Quantity, w.Nominal, unit)
	if low != high {
		words += " (" + low + " to " + high + ")"
	}
	return words
}

// firstOf keeps a long list of what is open short: the sheet above has it all.
func firstOf(list []string) []string {
	const few = 4
	if len(list) <= few+1 {
		return list
	}
	return append(slices.Clone(list[:few]), "And "+num(len(list)-few)+" more.")
}
