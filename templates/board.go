package templates

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
	"damperdesk/internal/plan"
)

// BoardPage is all open jobs in promised order, or those a filter picks.
type BoardPage struct {
	Base
	Plan     *plan.Plan
	All      []job.BoardRow // not kept once Rows are picked
	Rows     []job.BoardRow
	Count    job.Count // of all open jobs, whatever the filter
	ByDay    map[string]int
	Troubles int // of all likewise
	Query    BoardQuery
	// OpenFrom and OpenTo are the span the shop is open now or next; zero for a
	// shop that has no hours.
	OpenFrom, OpenTo time.Time
	// Mishaps happened here and were seen by no owner; for an owner alone.
	Mishaps []bench.Mishap
	// Broken is how many jobs are not ready by their promise as the line stands;
	// for the desk and owners.
	Broken int
	// Asks are what customers have said nothing to, or ask to be rung about; for
	// the desk and owners.
	Asks   []goahead.Ask
	Outbox message.Standing
}

// foundWords says how much stands found on a job, and the gravest.
func foundWords(r job.BoardRow) string {
	if r.Found == 1 {
		return "found: " + r.Worst
	}
	return num(r.Found) + " found, gravest: " + r.Worst
}

// boardDay is the rows promised on one day.
type boardDay struct {
	heading string
	rows    []job.BoardRow
}

func (p BoardPage) days() []boardDay {
	var days []boardDay
	for _, r := range p.Rows {
		heading := p.DayHeading(r.PromisedAt)
		if len(days) == 0 || days[len(days)-1].heading != heading {
			days = append(days, boardDay{heading: heading})
		}
		days[len(days)-1].rows = append(days[len(days)-1].rows, r)
	}
	return days
}

func (p BoardPage) remark(r job.BoardRow) job.Remark { return p.Plan.Remark(r) }

// standing says how many there are and what is wrong with them.
func (p BoardPage) standing() string {
	if p.Count.Open == 0 {
		return "Nothing is here to be done."
	}
	n := map[job.RemarkKind]int{}
	for _, r := range p.Rows {
		n[p.remark(r).Kind]++
	}
	words := []string{strconv.Itoa(p.Count.Open) + " open"}
	if len(p.Rows) < p.Count.Open {
		words[0] = fmt.Sprintf("%d of %d open", len(p.Rows), p.Count.Open)
	}
	for _, c := range []struct {
		n    int
		word string
	}{
		{n[job.RemarkLate] + n[job.RemarkLateWaiting], "past the promise"},
		{n[job.RemarkWillMiss], "going to miss it"},
		{n[job.RemarkTight], "tight"},
		{n[job.RemarkWaiting] + n[job.RemarkAsking], "waiting"},
		{n[job.RemarkReady], "ready"},
		{n[job.RemarkLapsed], "booked and not brought"},
	} {
		if c.n > 0 {
			words = append(words, strconv.Itoa(c.n)+" "+c.word)
		}
	}
	return strings.Join(words, ", ") + "."
}

// openWords says until when the shop is open, or when it opens.
func (p BoardPage) openWords() string {
	switch {
	case p.OpenTo.IsZero():
		return ""
	case p.OpenFrom.After(p.Now):
		return ", opens " + p.When(p.OpenFrom)
	}
	return ", open until " + p.Clock(p.OpenTo)
}

// stageNote is the small line under where a job stands.
func (b Base) stageNote(r job.BoardRow) string {
	at := fmt.Sprintf("step %d of %d", r.Signed, r.Steps)
	switch {
	case r.Stage == job.OnBench && r.Steps > 0 && r.Signed == 0:
		return fmt.Sprintf("none of %d steps yet", r.Steps)
	case r.Steps > 0 && len(r.Holds) > 0:
		return "stopped after " + at
	case r.Stage == job.OnBench && r.Steps > 0:
		return "after " + at
	case len(r.Holds) > 0:
		return r.Stage
	}
	return "since " + b.When(r.StageAt)
}

// nextWords says what is to be done next, as far as it is known.
func (p BoardPage) nextWords(r job.BoardRow) string {
	switch title := r.NextStep; {
	case r.Stage == job.Ready && r.GoesBack == "post":
		return "next: send it back"
	case r.Stage == job.Ready:
		return "waits for " + firstName(r.Customer) + " since " + p.When(r.StageAt)
	case len(r.Holds) > 0:
		return p.holdNext(r)
	case title != "":
		return "next: " + lowerFirst(title)
	case r.Stage == job.FinalCheck:
		return "next: make it ready"
	case r.Stage == job.Booked && p.remark(r).Kind == job.RemarkLapsed:
		return "next: ring " + firstName(r.Customer) + ", book another day or end it"
	case r.Stage == job.Booked:
		return "next: it comes in"
	case r.Unopened:
		return "next: the claim is authorised"
	case r.Stage == job.DroppedOff || r.Stage == job.Arrived:
		return "next: into the queue"
	case r.Mechanic == "":
		return "next: give it to a mechanic"
	case r.Stage == job.InQueue:
		return "next: " + r.Mechanic + " starts it"
	}
	return ""
}

// holdNext says how long a job waits already and who ends it.
func (p BoardPage) holdNext(r job.BoardRow) string {
	w := r.Holds[0]
	if w.Kind == job.WaitingOnCustomer {
		return "next: ring " + firstName(r.Customer)
	}
	words := "since " + p.When(w.At)
	if w.By != "" {
		words += ", by " + w.By
	}
	if w.Tray != "" {
		words += "; " + trayWords(w.Tray)
	}
	return words
}

// trackAt is how far along its line a stage is.
func trackAt(stage string) int {
	line := [][]string{{job.Booked}, {job.DroppedOff, job.Arrived}, {job.InQueue}, {job.OnBench}, {job.FinalCheck}, {job.Ready, job.PickedUp, job.SentBack}}
	return max(slices.IndexFunc(line, func(stages []string) bool { return slices.Contains(stages, stage) }), 0)
}

func jobPath(id int64) string { return "/jobs/" + strconv.FormatInt(id, 10) }

func services(names []string) string {
	if len(names) == 0 {
		return "no service yet"
	}
	return strings.Join(names, ", ")
}

// symptoms says them all in the trade's words.
func symptoms(codes []string) string {
	words := make([]string, 0, len(codes))
	for _, code := range codes {
		s, _ := job.SymptomOf(code)
		words = append(words, s.Words)
	}
	return strings.Join(words, ", ")
}

// expected says when a job will be ready, and why then, beside its pin; empty for
// what has no place in the line.
func (p BoardPage) expected(r job.BoardRow) (at time.Time, words, why string) {
	e, ok := p.Plan.Job(r.ID)
	switch {
	case r.Stage == job.Ready:
		return r.StageAt, "ready", ""
	case !ok:
		return at, "", ""
	case e.Ready.IsZero():
		return at, "not in sight", e.WhyBesidePin()
	}
	return e.Ready, p.When(e.Ready), e.WhyBesidePin()
}

// reckoned is who the line-up gives a job to that nobody has yet.
func (p BoardPage) reckoned(r job.BoardRow) string {
	if e, ok := p.Plan.Job(r.ID); ok && e.Mechanic != "" {
		return "reckoned with " + e.Mechanic
	}
	return ""
}

// ageWords says how long a job is here already.
func (p BoardPage) ageWords(r job.BoardRow) string {
	if r.Stage == job.Booked {
		return "not here yet"
	}
	switch days := -p.daysTo(r.OpenedAt); {
	case days == 0:
		return "came today"
	default:
		return plural(days, "day") + " here"
	}
}

// riderWords is whose it is, and where it hangs.
func riderWords(r job.BoardRow) string {
	if r.HangsAt == "" {
		return r.Customer
	}
	return r.Customer + ", " + r.HangsAt
}
