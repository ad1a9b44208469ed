package templates

import (
	"slices"
	"strings"

	"damperdesk/internal/letter"
	"damperdesk/internal/message"
)

// MessagesPage lists what customers are told, and sets when the clock tells them.
type MessagesPage struct {
	Base
	Templates []letter.Template
	Setting   message.Setting
}

// WordsPage edits the words of one kind and tries them on a job.
type WordsPage struct {
	Base
	Template letter.Template
	Fields   []letter.Field
	Ticket   int // what they are tried on; 0: none
	NoTicket int // the ticket that was asked for and is none; 0: none
	Letter   message.Letter
	Moot     bool // nobody would be told that of it now
	Back     Base // the form that takes them back
}

// kindWords is what a kind is called, and when it is sent.
var kindWords = map[message.Kind]struct{ title, when string }{
	message.Received:  {"Received", "when a unit is dropped off, arrives, or comes as booked"},
	message.GoAhead:   {"Go-ahead wanted", "when something is proposed that waits for the customer’s word"},
	message.Moved:     {"Promise moved", "when a visit is promised for another day"},
	message.Ready:     {"Ready", "when all of a visit is ready, and again when it is ready anew"},
	message.StillHere: {"Still here", "when it is ready and not picked up, at most three times"},
	message.FirstRide: {"After the first ride", "some days after it was handed over, to those who want it"},
	message.DueSoon:   {"Due soon", "to those who want it, when they are invited from the due list"},
}

// KindTitle is what a kind is called.
func KindTitle(k message.Kind) string { return kindWords[k].title }

// KindPath is a kind in an address.
func KindPath(k message.Kind) string { return strings.ReplaceAll(string(k), " ", "-") }

// WordsPath leads to the words of a kind.
func WordsPath(k message.Kind) string { return "/shop/messages/" + KindPath(k) }

// ToldByVoice reports whether a kind is read out to callers.
func ToldByVoice(k message.Kind) bool {
	return k != message.DueSoon && slices.Contains(message.Kinds, k)
}

// whoseWords says whose words stand.
func (b Base) whoseWords(t letter.Template) string {
	if t.Version == 0 {
		return "as they come with the program"
	}
	return "your own, by " + t.By + ", " + b.When(t.At)
}

// shipped are the words that come with the program.
func (p WordsPage) shipped() letter.Words { return letter.Shipped(p.Template.Kind) }

// ticketValue is a ticket in its field; empty for none.
func ticketValue(n int) string {
	if n == 0 {
		return ""
	}
	return num(n)
}

// fieldNote says what a field may be.
func fieldNote(f letter.Field) string {
	var notes []string
	if f.Empty {
		notes = append(notes, "may be empty")
	}
	if f.Lines {
		notes = append(notes, "may have several lines")
	}
	return strings.Join(notes, ", ")
}

// VisitSays is what the desk reads out about a visit, and what was told in it.
type VisitSays struct {
	letter.Line
	Notes []message.Note // the newest first
	Form  Base
}

// noteState is how far a message has come, in a word.
func noteState(n message.Note) (Shape, string) {
	switch {
	case n.ToldAt != nil && n.SentAt != nil:
		return Disc, "sent, and told by voice"
	case n.ToldAt != nil:
		return Disc, "told by voice"
	case n.State == message.Sent:
		return Disc, "sent by mail"
	case n.State == message.Waiting:
		return OpenDiamond, "mail waits"
	case n.State == message.Sending:
		return HalfDisc, "being sent"
	case n.State == message.Doubtful:
		return Triangle, "may not have arrived"
	case n.State == message.Failed:
		return Triangle, "could not be sent"
	case n.Why == message.NoAddress:
		return Dotted, "no mail address"
	case n.Why == message.NotWanted:
		return Dotted, "not wanted by mail"
	}
	return Dotted, "not needed any more"
}

// noteWhen says when that was, and by whom.
func (b Base) noteWhen(n message.Note) string {
	switch {
	case n.ToldAt != nil:
		return b.When(*n.ToldAt) + ", by " + n.ToldBy
	case n.SentAt != nil:
		return b.When(*n.SentAt)
	case n.State == message.Waiting && n.NotBefore.After(b.Now):
		return "until " + b.When(n.NotBefore)
	}
	return b.When(n.At)
}
