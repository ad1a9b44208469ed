package templates

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"

	"damperdesk/internal/bill"
	"damperdesk/internal/job"
	"damperdesk/internal/partslist"
	"damperdesk/internal/plan"
)

// PromisePart is what the drop-off page says of the ready-by.
type PromisePart struct {
	Base
	Worked   bool // services are chosen, so that a day could be worked out
	Moving   bool // it is of a visit that is here, and nothing is chosen for it
	Proposal plan.Proposal
	Days     []PromiseDay
	Typed    *TypedPromise      // another time than those listed
	Lacks    [][]partslist.Need // what the shelf lacks for each unit
	PartsOn  []*time.Time       // and by when it can be here; nil: not known

	Estimate   bill.Estimate // what the services come to; of a drop-off, once it is Worked
	LimitMinor *int64        // as it is typed
}

// lackWords says what the shelf lacks for each unit that it lacks something for.
func (p PromisePart) lackWords() (list []string) {
	for i, lacks := range p.Lacks {
		if len(lacks) == 0 {
			continue
		}
		var names []string
		for _, n := range lacks {
			names = append(names, n.Measure.Format(n.Open())+" "+n.Item)
		}
		words := "lacking: " + strings.Join(names, ", ")
		if day := p.PartsOn[i]; day != nil {
			words += "; ordered today it can be here on " + p.dayOrNone(day)
		}
		list = append(list, words)
	}
	return list
}

// PromiseDay is a time at which the shop closes, with what comes of promising
// it.
type PromiseDay struct {
	At       time.Time
	Proposed bool
	plan.Outlook
}

// TypedPromise is the same of a time that somebody typed.
type TypedPromise struct {
	At time.Time
	plan.Outlook
}

func (p PromisePart) options() []Option {
	var options []Option
	for _, d := range p.Days {
		note := "the first day with room"
		if !d.Proposed {
			note = listed(keptWords(d.Outlook), breaksWords(d.Pushed))
		}
		if !p.Worked {
			note = ""
		}
		options = append(options, Option{Value: promiseValue(d.At), Label: p.Moment(d.At), Note: note, Chosen: d.Proposed && !p.Moving})
	}
	return append(options, Option{Value: "other", Label: "Another", Note: "a time of its own"})
}

// proposed is what was proposed when the part was drawn, so that a choice of
// it goes along where it moves.
func (p PromisePart) proposed() string {
	if p.Proposal.Promise.IsZero() {
		return ""
	}
	return promiseValue(p.Proposal.Promise)
}

// promiseValue is a ready-by as the form of a promise sends it.
func promiseValue(at time.Time) string { return at.UTC().Format(time.RFC3339) }

// workedWords says how the day came about: "Expected Thu 15 Oct, 11:20: two jobs
// before it, 50 min at the bench."
func (p PromisePart) workedWords() string {
	s := p.Proposal
	if s.Promise.IsZero() {
		return "No day can be worked out: nobody has hours at the bench in the next half year."
	}
	from := "book time"
	if s.Known >= job.LeastStated {
		from = "from " + plural(s.Known, "finished job")
	}
	return fmt.Sprintf("Expected %s: %s; %.0f min at the bench, %s.", p.Moment(s.Expected), s.Why, s.Minutes, from)
}

// SureWords says how sure a proposal is, and from what.
func SureWords(s plan.Slack) string {
	if !s.Enough() {
		return fmt.Sprintf("Not enough history to say how sure: %d of the %s it takes. Two days of 8 h are left after it.", s.N, plural(s.Need, "past promise"))
	}
	return fmt.Sprintf("%s of open time are left after it: so %.0f in 100 of %s were kept.", hoursWords(s.For), 100*s.Sure, plural(s.N, "past promise"))
}

func hoursWords(d time.Duration) string {
	if d < 90*time.Minute {
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.0f h", d.Hours())
}

// keptWords is the risk of a promise, "about 3 in 10 kept", or how the line
// stands to it where there is not enough history.
func keptWords(o plan.Outlook) string {
	switch {
	case o.Expected.IsZero():
		return "nobody has hours at the bench for it"
	case !o.Known && o.Spare < 0:
		return "not ready by then as the line stands"
	case !o.Known:
		return hoursWords(o.Spare) + " of open time to spare"
	}
	switch tenths := int(math.Floor(10*o.Kept + 1e-9)); tenths {
	case 0:
		return "hardly ever kept"
	case 10:
		return "nearly always kept"
	default:
		return fmt.Sprintf("about %d in 10 kept", tenths)
	}
}

func breaksWords(pushed []plan.Push) string {
	n := 0
	for _, p := range pushed {
		if p.Breaks {
			n++
		}
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "breaks another promise"
	}
	return "breaks " + strconv.Itoa(n) + " other promises"
}

// mostPushed is how many jobs are named that a promise pushes.
const mostPushed = 6

// riskWords says what comes of a time that was typed.
func (p PromisePart) riskWords() string {
	t := p.Typed
	by := "Earlier than proposed"
	switch {
	case p.Moving, p.Proposal.Promise.IsZero():
		by = "Of such promises"
	case !t.At.Before(p.Proposal.Promise):
		by = "No earlier than proposed"
	}
	return by + ": " + keptWords(t.Outlook) + "."
}

func (p PromisePart) riskShape() Shape {
	if p.Typed.Known && p.Typed.Kept >= p.Typed.Slack.Sure {
		return Disc
	}
	return Triangle
}

// pushWords names a job that is ready later, and what of its promise.
func (b Base) pushWords(p plan.Push) string {
	words := fmt.Sprintf("Ticket %d: ready %s, not %s", p.Number, b.When(p.Now), b.When(p.Ready))
	if p.Breaks {
		words += "; promised " + b.When(p.Promised)
	}
	return words
}

// MovePage is where the desk gives a visit another ready-by.
type MovePage struct {
	Base
	Visit    job.VisitWithJobs
	Expected *plan.Expected // of the last of its jobs; nil: nothing is to be done
	Part     PromisePart
	Given    []job.Promise // the newest first
}

func movePath(visitID int64) string { return "/visits/" + strconv.FormatInt(visitID, 10) + "/promise" }

// standsWords is what the line says of the promise that stands.
func (p MovePage) standsWords() string {
	e := p.Expected
	if e.Ready.IsZero() {
		return "Nobody has hours at the bench for it."
	}
	return fmt.Sprintf("Expected %s: %s.", p.Moment(e.Ready), e.Why)
}

// StandingShape is how a job stands to its promise, as a shape.
func StandingShape(standing string) Shape {
	switch standing {
	case plan.Tight:
		return HalfDisc
	case plan.WillMiss, plan.Overdue:
		return Triangle
	}
	return Disc
}

func standingWords(standing string) string {
	if standing == plan.OnTime {
		return "on time"
	}
	return standing
}

// givenWords is a promise of the past, in a line.
func (b Base) givenWords(g job.Promise) string {
	words := b.Moment(g.PromisedAt) + ", given " + b.Moment(g.At)
	if g.By != "" {
		words += " by " + g.By
	}
	if g.How != job.Unproposed {
		words += ", " + g.How
	}
	if g.ExpectedAt != nil {
		words += "; expected then " + b.Moment(*g.ExpectedAt)
	}
	if g.Reason != "" {
		words += ". " + upperFirst(g.Reason)
	}
	return words
}

func visitLinkOf(p MovePage) templ.SafeURL {
	return templ.SafeURL("/visits/" + strconv.FormatInt(p.Visit.ID, 10))
}

func moveLink(p MovePage) templ.SafeURL { return moveLinkOf(p.Visit.ID) }

func moveLinkOf(visitID int64) templ.SafeURL { return templ.SafeURL(movePath(visitID)) }

func expectedWords(p VisitPage) string {
	return MovePage{Base: p.Base, Expected: p.Expected}.standsWords()
}
