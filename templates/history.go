package templates

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
)

// History is a page of what happened, newest first, with the bench sheets of
// the steps it speaks of, by job: what was signed is read from those.
type History struct {
	Entries []history.Entry
	Sheets  map[int64]bench.Sheet
}

// historyLine is one act: an event, or all lines signed with one press.
type historyLine struct {
	at      time.Time
	number  int // of the ticket; 0: none
	what    string
	outside string   // said where a value lies outside its window
	why     string   // the reason given
	each    []string // lines signed together
	who     string
	on      string // the tablet; empty for none
}

// lines joins what was signed with one press.
func (b Base) lines(h History) []historyLine {
	var list []historyLine
	for i := 0; i < len(h.Entries); i++ {
		e := h.Entries[i]
		press := h.press(e)
		last := i
		for press != nil && last+1 < len(h.Entries) && same(press, h.press(h.Entries[last+1])) {
			last++
		}
		if last > i {
			list = append(list, b.pressLine(h, h.Entries[i:last+1]))
			i = last
			continue
		}
		line := historyLine{at: e.At, number: e.JobNumber, who: actor(e), on: e.Device}
		if f := h.finding(e); f != nil {
			line.what, line.why = h.findingWords(e, f), f.AnswerWords
			if e.Kind == "finding recorded" {
				line.why = ""
			}
		} else if step, so := h.signed(e); step != nil {
			b.stepLine(&line, e.Kind, step, so)
		} else {
			line.what = eventWords(e)
		}
		list = append(list, line)
	}
	return list
}

func same(a, b *uuid.UUID) bool { return a != nil && b != nil && *a == *b }

// press is what the lines signed with one press share; nil for any other event.
func (h History) press(e history.Entry) *uuid.UUID {
	if _, so := h.signed(e); so != nil && e.Kind == "step signed" {
		return so.Together
	}
	return nil
}

// signed finds the step of an event, and the sign-off if it is of one.
func (h History) signed(e history.Entry) (*bench.Step, *bench.Signoff) {
	stepID, _ := e.Detail["step"].(float64)
	signoff, _ := e.Detail["signoff"].(float64)
	step := h.Sheets[e.JobID].Find(int64(stepID))
	if step == nil {
		return nil, nil
	}
	for _, so := range []*bench.Signoff{step.Done, step.Checked} {
		if so != nil && so.ID == int64(signoff) {
			return step, so
		}
	}
	for i := range step.Crossed {
		if step.Crossed[i].ID == int64(signoff) {
			return step, &step.Crossed[i].Signoff
		}
	}
	return step, nil
}

// finding finds what an event recorded or answered; nil for any other event.
func (h History) finding(e history.Entry) *bench.Finding {
	id, ok := e.Detail["finding"].(float64)
	list := h.Sheets[e.JobID].Findings
	i := slices.IndexFunc(list, func(f bench.Finding) bool { return ok && f.ID == int64(id) })
	if i < 0 {
		return nil
	}
	return &list[i]
}

// findingWords says what was found, and at which step.
func (h History) findingWords(e history.Entry, f *bench.Finding) string {
	words := f.Grade + ": " + f.Words
	if f.Cause == bench.HappenedHere {
		words += ", " + f.Cause
	}
	if e.Kind != "finding recorded" {
		return e.Kind + ", " + words
	}
	if f.StepID != nil {
		return "found at step " + num(h.Sheets[e.JobID].Find(*f.StepID).Seq) + ", " + words
	}
	return "found, " + words
}

// stepLine says what was signed, checked, given or crossed out, and on which
// step.
func (b Base) stepLine(line *historyLine, kind string, step *bench.Step, so *bench.Signoff) {
	name := "step " + num(step.Seq) + ", " + lowerFirst(step.Title)
	switch {
	case kind == "step value given":
		line.what = name + ": value given, " + step.Source
	case kind == "sign-off crossed out":
		line.what = name + ": crossed out"
		for _, c := range step.Crossed {
			if so != nil && c.ID == so.ID {
				line.why = c.Why
			}
		}
	case so != nil && so.Role == bench.RoleChecked:
		line.what, line.why = name+": second check", so.Reason
		if so.Alone {
			line.what += ", alone"
		}
	case so != nil:
		line.what = name + ": " + cmp.Or(b.gotBy(*step, so), "done")
		line.outside, line.why = b.outsideWords(*step, so), so.Reason
	case kind == "picture taken":
		line.what = name + ": picture taken"
	default:
		line.what = name
	}
}

// gotBy is got for a sign-off that may have been crossed out since.
func (b Base) gotBy(step bench.Step, so *bench.Signoff) string {
	step.Done = so
	return b.got(step)
}

func (b Base) outsideWords(step bench.Step, so *bench.Signoff) string {
	if so.InWindow {
		return ""
	}
	if w, ok := step.Window(); ok && w.Minus+w.Plus > 0 {
		return "outside " + b.Prefs.Window(step.Quantity, w.Nominal-w.Minus, w.Nominal+w.Plus)
	}
	return "outside the window"
}

// pressLine is what was signed with one press, in the order of the sheet.
func (b Base) pressLine(h History, newestFirst []history.Entry) historyLine {
	e := newestFirst[0]
	line := historyLine{at: e.At, number: e.JobNumber, who: actor(e), on: e.Device,
		what: fmt.Sprintf("%d steps signed together", len(newestFirst))}
	for i := len(newestFirst) - 1; i >= 0; i-- {
		step, so := h.signed(newestFirst[i])
		words := num(step.Seq) + " " + lowerFirst(step.Title)
		for _, more := range []string{b.gotBy(*step, so), b.outsideWords(*step, so), so.Reason} {
			if more != "" {
				words += ", " + more
			}
		}
		line.each = append(line.each, words)
	}
	return line
}

// eventWords says an event in a line. Its detail is only read to be shown.
func eventWords(e history.Entry) string {
	text := func(key string) string {
		s, _ := e.Detail[key].(string)
		return s
	}
	switch e.Kind {
	case "job moved":
		return "from " + text("from") + " to " + text("to")
	case "job opened":
		return "taken in, " + text("stage")
	case "job waits":
		return text("for")
	case "wait ended":
		return "no longer waits"
	case "job handed over":
		return text("how")
	case "job cancelled":
		return "cancelled: " + text("ending")
	case "job assigned":
		if e.Detail["mechanic"] == nil {
			return "given to nobody"
		}
		return "given to a mechanic"
	case "customer merged":
		return "merged into another customer"
	case "other customer merged":
		return "another customer merged into this one"
	case "customer taken apart", "other customer taken apart":
		return "a merge taken back"
	case "service taken off":
		return "service taken off: " + text("service")
	case "service added":
		return "service added: " + text("service")
	case "bill line written", "bill line taken back", "payment taken", "payment taken back":
		return e.Kind + ": " + money.Format(minorOf(e), text("currency"))
	case "proposal made":
		words := "proposed at " + money.Format(minorOf(e), text("currency"))
		if ahead, _ := e.Detail["ahead"].(bool); ahead {
			words += ", inside the limit"
		}
		return words
	case "unit event said":
		return "written down: " + happenedWords([]string{text("kind")})
	case "message posted":
		return "message to the customer: " + text("kind")
	case "message sent":
		return "message sent: " + text("kind")
	case "message sent again":
		return "message to be sent again: " + text("kind")
	case "message put off":
		return "message not sent yet, " + text("why") + ": " + text("kind")
	case "message failed", "message dropped":
		return "message not sent, " + cmp.Or(text("why"), "dropped at the desk") + ": " + text("kind")
	case "message doubtful":
		return "message that may have been sent, " + text("why") + ": " + text("kind")
	case "messages wanted":
		if given, _ := e.Detail["given"].(bool); given {
			return "wants messages: " + text("kind")
		}
		return "wants no messages: " + text("kind")
	case "told by voice":
		return "told by voice: " + text("kind")
	case "work started":
		return fmt.Sprintf("bench sheet started, %v steps", e.Detail["steps"])
	}
	return strings.ReplaceAll(e.Kind, "'", "’")
}

// minorOf is the amount of an event, in minor units.
func minorOf(e history.Entry) int64 {
	minor, _ := e.Detail["minor"].(float64)
	return int64(minor)
}

// earlier is the id the next page of a history begins before; 0 when there is
// no more.
func earlier(entries []history.Entry) int64 {
	if len(entries) < history.PageSize {
		return 0
	}
	return entries[len(entries)-1].ID
}

// actor is who did it.
func actor(e history.Entry) string {
	if e.Actor == "" && (e.Kind == "ride hours said" || e.Kind == "ride hours taken back") {
		return "the rider, in the book"
	}
	if e.Actor == "" {
		return "the program"
	}
	return e.Actor
}
