package templates

import (
	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
)

// What a customer is asked, and read on the phone, in the tone of
// customer_text.go.
const (
	textAsked     = "We need your word"
	textAgreed    = "What was agreed beside the service"
	textAnswer    = "Your answer"
	textYes       = "Yes, do it"
	textYesNote   = "at that price"
	textNo        = "No, leave it"
	textNoNote    = "the rest of the work goes on"
	textCall      = "Ring me first"
	textCallNote  = "the work waits until we have spoken"
	textWho       = "Your name"
	textCallWords = "When, and on which number"
	textCallHint  = "If we are to ring you."
	textSend      = "Send the answer"
	textOtherwise = "Answer otherwise"
	textAhead     = "goes ahead inside your limit"

	textWithItsTax = ", with its tax."
)

// ChooseAnswer stands beside a proposal that nothing was said to.
const ChooseAnswer = "Choose yes, no, or that we ring you first."

// CustomerDone is what the page says after an answer, or in the place of a card or a
// file of events that has nothing on it now.
func CustomerDone(done string) string {
	switch done {
	case "answered":
		return "We have your answer. Until the work is done you may still say otherwise, here or by phone."
	case "way":
		return "It is shown so from now on."
	case "call":
		return "We ring you. Until then the work waits for your word."
	case "no-card":
		return "There are no settings to print yet. They stand here once the unit is ready."
	case "no-events":
		return "There is nothing to put in a calendar here now."
	}
	return ""
}

// holdText says what a job waits for; an answer that can be given here is asked
// for here.
func (p CustomerPage) holdText(kind string) string {
	if kind == "waiting on customer" && len(p.waiting()) > 0 {
		return "We are waiting for your answer."
	}
	return holdText[kind]
}

// askedText says what silence means, and what was asked to be rung about.
func (p CustomerPage) askedText() string {
	text := "We found something that the service does not cover. Nothing of it is done without your yes."
	for _, of := range p.waiting() {
		if of.AsksCall() {
			text += " You asked us to ring you; you may also answer here."
			break
		}
	}
	return text
}

// foundText says what was found, and on which unit where there are several.
func (p CustomerPage) foundText(of goahead.Proposal) string {
	u := p.unitOf(of)
	text := upperFirst(of.FindingWords) + "."
	for _, f := range u.Sheet.Findings {
		if f.ID == of.FindingID {
			text = "Found, “" + f.Grade + "”: " + f.Words + "."
			if f.Grade == bench.FoundUnsafe {
				text += " " + textUnsafe
			}
		}
	}
	if p.several() {
		text = u.Job.Unit + ". " + text
	}
	return text
}

func (p CustomerPage) priceText(of goahead.Proposal) string {
	return upperFirst(of.Words) + ": " + p.Prefs.Money(of.Minor, of.Currency)
}

// readyText says what it does to the day that was promised.
func (p CustomerPage) readyText(of goahead.Proposal) string {
	promised := p.LongDay(p.Visit.PromisedAt)
	switch {
	case of.ReadyAt == nil && of.ReadyOn != nil:
		return "With it, it is ready by " + p.Date(*of.ReadyOn) + "; without it by " + promised + ", as promised."
	case of.ReadyAt == nil:
		return "Promised is " + promised + "; if this moves it, we tell you the day."
	case of.ReadyAt.After(p.Visit.PromisedAt):
		return "With it, it is ready by " + p.LongDay(*of.ReadyAt) + " instead of " + promised + "."
	case of.Goes() && of.Moves():
		return "With it, it is ready by " + promised + "; before it was " + p.LongDay(*of.InsteadOf) + "."
	}
	return "It stays ready by " + promised + "."
}

// saidText says who said so, how and when.
func (p CustomerPage) saidText(of goahead.Proposal) string {
	if of.AnswerID == 0 {
		return "You let us spend so much without asking." + p.movedText(of)
	}
	how := of.How
	if how == goahead.OnPage {
		how = "on this page"
	}
	return "Said by " + of.Who + ", " + how + ", " + p.When(*of.AnswerAt) + "." + p.movedText(of)
}

// movedText says which day came with what goes ahead.
func (p CustomerPage) movedText(of goahead.Proposal) string {
	if !of.Goes() || !of.Moves() {
		return ""
	}
	return " With it, it is ready by " + p.LongDay(*of.ReadyAt) + " instead of " + p.LongDay(*of.InsteadOf) + "."
}

// totalText is the running total, and what is left of the limit.
func (p CustomerPage) totalText() string {
	s := p.Standing
	text := "With all that goes ahead the visit comes to " + p.Prefs.Money(s.TotalMinor(), s.Currency) + " with its tax."
	if s.LimitMinor != nil {
		text += " You let us spend " + p.Prefs.Money(*s.LimitMinor, s.Currency) + " without asking"
		if left := s.LeftMinor(); left > 0 {
			text += "; " + p.Prefs.Money(left, s.Currency) + " of it is left"
		}
		text += "."
	}
	return text
}

// readOut is what the desk reads out to a customer who has not answered.
func (p AnswersPage) readOut(a Asked) string {
	text := "This is " + p.Shop + ", about your " + a.Unit + ". We found: " + a.FindingWords + ". We would do: " + a.Words + ", " +
		p.Prefs.Money(a.Minor, a.Currency) + " with tax."
	if a.ReadyOn != nil {
		text += " It is then ready by " + p.Date(*a.ReadyOn)
		if a.Moves() {
			text += " instead of " + p.Date(p.local(*a.InsteadOf))
		}
		text += "."
	}
	return text + " Shall we?"
}
