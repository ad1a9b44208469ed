package templates

import (
	"fmt"
	"time"

	"damperdesk/internal/goahead"
)

// AnswersPage lists what customers were asked and said nothing to.
type AnswersPage struct {
	Base
	Asked []Asked
}

// Asked is one of them, with the form that keeps a reminder.
type Asked struct {
	goahead.Ask
	Unit string
	Form Base
}

// askState says what the desk has to do about it.
func (p AnswersPage) askState(a Asked) (Shape, string) {
	switch {
	case a.AsksCall():
		return Triangle, "asks to be rung"
	case !p.Now.Before(a.RemindAt()):
		return Triangle, "ask again"
	}
	return OpenDiamond, "waits, ask again " + p.When(a.RemindAt())
}

// askNote says since when it waits, and who last reached for them.
func (p AnswersPage) askNote(a Asked) string {
	note := "Asked " + p.When(a.At) + ", " + daysText(p.Now.Sub(a.At))
	if a.RemindedAt != nil {
		note += "; last reached for " + a.Reminded + ", " + p.When(*a.RemindedAt) + ", by " + a.RemindedBy
	}
	return note + "."
}

func daysText(d time.Duration) string {
	days := int(d.Hours() / 24)
	if days < 1 {
		return "less than a day ago"
	}
	return fmt.Sprintf("%s ago", plural(days, "day"))
}

// answersWords leads to the page from the board; empty where nothing waits.
func answersWords(asks []goahead.Ask) string {
	calls, silent := 0, 0
	for _, a := range asks {
		if a.AsksCall() {
			calls++
		} else {
			silent++
		}
	}
	var words []string
	if calls > 0 {
		words = append(words, verb(calls, "customer asks", "customers ask")+" to be rung")
	}
	if silent > 0 {
		words = append(words, verb(silent, "answer is", "answers are")+" awaited")
	}
	return listed(words...)
}

func verb(n int, one, many string) string {
	if n == 1 {
		return num(n) + " " + one
	}
	return num(n) + " " + many
}
