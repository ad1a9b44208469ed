package templates

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/letter"
	"damperdesk/internal/mail"
	"damperdesk/internal/message"
)

// OutboxPage is the outbox.
type OutboxPage struct {
	Base
	Show   message.Shown
	List   []message.Entry
	Before int64 // where the list began; 0: with the newest
	Quiet  message.Quiet
	Mail   mail.Server
	Stand  message.Standing
}

// LiveMessages is the subject of whatever becomes of a message.
const LiveMessages = "messages"

// shownLists are what the outbox is narrowed to, with their words.
var shownLists = []struct {
	show message.Shown
	word string
}{
	{message.ShowAll, "All"},
	{message.ShowLook, "To look at"},
	{message.ShowWaiting, "Waiting"},
	{message.ShowSent, "Sent"},
	{message.ShowNotSent, "Not sent"},
}

func (p OutboxPage) path(show message.Shown) string {
	if show == message.ShowAll {
		return "/messages"
	}
	return "/messages?show=" + string(show)
}

// older is the address of the next page; empty where there is none.
func (p OutboxPage) older() string {
	if len(p.List) < message.PageSize {
		return ""
	}
	before := "before=" + strconv.FormatInt(p.List[len(p.List)-1].ID, 10)
	if p.Show == message.ShowAll {
		return "/messages?" + before
	}
	return p.path(p.Show) + "&" + before
}

func (p OutboxPage) nothing() string {
	switch p.Show {
	case message.ShowLook:
		return "Nothing has to be looked at."
	case message.ShowWaiting:
		return "Nothing waits to be sent."
	case message.ShowSent:
		return "Nothing has been sent."
	case message.ShowNotSent:
		return "Everything was sent, or waits to be."
	}
	return "What the shop writes to its customers stands here: that a unit was taken in, that a go-ahead is wanted, that it is ready."
}

// messageStands says how far a message has come.
func (b Base) messageStands(e message.Entry, quiet message.Quiet, mail mail.Server) (Shape, string) {
	switch e.State {
	case message.Waiting:
		return OpenDiamond, b.messageWaits(e, quiet, mail)
	case message.Sending:
		return HalfDisc, "is being sent"
	case message.Sent:
		return Square, "sent"
	case message.Doubtful:
		if e.ToldAt != nil {
			return Disc, "may have been sent; told by voice"
		}
		return Triangle, "may have been sent"
	case message.Failed:
		return Triangle, "failed"
	}
	return Dotted, "not sent"
}

func (b Base) messageWaits(e message.Entry, quiet message.Quiet, mail mail.Server) string {
	at := e.NotBefore
	if b.Now.After(at) {
		at = b.Now
	}
	if e.Kind != message.Test {
		at = quiet.After(at, b.Prefs.Zone)
	}
	switch {
	case !mail.Set():
		return "waits for a mail server"
	case !at.After(b.Now):
		return "goes out now"
	}
	return "waits until " + b.When(at)
}

// unsentWords says why a message was not sent, and what can be done.
var unsentWords = map[message.Why]string{
	message.NoAddress:   "The customer has no mail address.",
	message.NotWanted:   "The customer wants no messages of this kind.",
	message.Told:        "It was told by voice.",
	message.Overtaken:   "Something newer says it, or it holds no more.",
	message.AtTheDesk:   "It was dropped at the desk.",
	message.Erased:      "The customer was erased.",
	message.Unreachable: "The mail server was not reached. Is its name and port right, and does it run?",
	message.NotSecure:   "There was no secure connection: the mail server does not offer one that way, or its certificate is not for that name.",
	message.SignIn:      "The mail server refused the user or the password.",
	message.PutOff:      "The mail server put it off.",
	message.BadAddress:  "The mail server does not take that address. Is it typed right?",
	message.Refused:     "The mail server refused the message. Its log or the shop’s says why; often it does not send for the address that mail is from.",
	message.BrokeOff:    "The connection broke off before the message was through.",
	message.NotWritten:  "The message could not be written. The log says why.",
	message.NoReply:     "The mail server had the whole message and did not say what became of it. It may have been sent, so it is not sent again by itself.",
	message.Stopped:     "The program was stopped just when the mail server had the whole message. It may have been sent, so it is not sent again by itself.",
}

// messageWhy is empty where there is nothing to say.
func (b Base) messageWhy(e message.Entry) string {
	words := unsentWords[e.Why]
	if e.State == message.Waiting && e.Tries > 0 {
		words += " It is tried again by itself."
	}
	if e.ToldAt != nil {
		words = "Told by voice by " + e.ToldBy + ", " + b.When(*e.ToldAt) + "."
	}
	return words
}

// messageKind is how a kind is headed.
func messageKind(k message.Kind) string {
	if k == message.Test {
		return "Test message"
	}
	return upperFirst(string(k))
}

// messageWhen is the moment that counts for its state.
func (b Base) messageWhen(e message.Entry) string {
	if e.SentAt != nil {
		return b.When(*e.SentAt)
	}
	return b.When(e.At)
}

// alsoWith says how many more services the letter is about.
func alsoWith(others int) string {
	if others == 0 {
		return ""
	}
	return ", and " + plural(others, "more service")
}

// messageTo is whom it is for.
func messageTo(e message.Entry) string {
	if e.Customer == "" {
		return e.Mail
	}
	return e.Customer
}

func visitPath(id int64) string { return "/visits/" + strconv.FormatInt(id, 10) }

func messagePath(id int64) string { return "/messages/" + strconv.FormatInt(id, 10) }

func messageName(e message.Entry) string { return messageKind(e.Kind) + ", " + messageTo(e) }

// MessagePage is one message.
type MessagePage struct {
	Base
	message.Entry
	Quiet message.Quiet
	Mail  mail.Server
	Draft letter.Draft // the zero one unless Drafted
}

// Drafted is whether what it would say now is shown: it was not sent, and goes
// to a customer.
func (p MessagePage) Drafted() bool {
	return p.CustomerID != 0 && (p.State == message.Waiting || p.State == message.Failed || p.State == message.Dropped)
}

// Name tells it from others, for the title of its page.
func (p MessagePage) Name() string { return messageName(p.Entry) }

func (p MessagePage) facts() []fact {
	list := []fact{{"Caused", p.Moment(p.At)}}
	if p.Entry.Mail != "" {
		list = append(list, fact{"To", p.Entry.Mail})
	}
	if p.SentAt != nil {
		list = append(list, fact{"Sent", p.Moment(*p.SentAt)})
	}
	if p.Tries > 0 {
		list = append(list, fact{"Tries", num(p.Tries)})
	}
	return list
}

// presses are what the desk can do with it, by the last part of the address.
func (p MessagePage) presses() []Option {
	again := Option{Value: "again", Label: "Send again", Note: "With the words as they are now, at once unless it is quiet hours."}
	drop := Option{Value: "drop", Label: "Do not send it"}
	told := Option{Value: "told", Label: "Told by voice", Note: "Keeps that you told the customer, and when."}
	if p.Customer == "" {
		told = Option{}
	}
	var list []Option
	switch p.State {
	case message.Waiting:
		list = []Option{told, drop}
	case message.Failed:
		list = []Option{again, told, drop}
	case message.Doubtful:
		again.Note = "The customer may get it twice. " + again.Note
		list = []Option{again, told, drop}
	case message.Dropped:
		list = []Option{again, told}
	case message.Sent:
		list = []Option{{Value: "more", Label: "Send once more", Note: "As a new message, with the words as they are now."}}
	}
	var shown []Option
	for _, o := range list {
		if o.Value != "" {
			shown = append(shown, o)
		}
	}
	return shown
}

// messagesWords leads from the board to what has to be looked at; empty where
// there is nothing.
func messagesWords(s message.Standing) string {
	if s.Look == 0 {
		return ""
	}
	return verb(s.Look, "message was not sent", "messages were not sent") + " or may not have been"
}

// hushed is how long nothing is said of mail that does not go out: two tries are
// over by then.
const hushed = 10 * time.Minute

// stoppedWords says since when no mail goes out; empty while it does.
func (b Base) stoppedWords(s message.Standing) string {
	if s.StoppedAt == nil || b.Now.Sub(*s.StoppedAt) < hushed {
		return ""
	}
	return "No mail has gone out since " + b.When(*s.StoppedAt)
}

// stoppedWhy is what is known of the reason, and what comes of it.
func stoppedWhy(s message.Standing) string {
	return strings.TrimSpace(unsentWords[s.StoppedWhy] + " Each message is tried again for some days. The desk can tell each by voice.")
}

// QuietWords says when nothing goes out.
func QuietWords(q message.Quiet) string {
	if q.FromMin == q.UntilMin {
		return "at any time of the day"
	}
	return "not from " + minuteText(q.FromMin) + " to " + minuteText(q.UntilMin)
}

func minuteText(min int) string { return fmt.Sprintf("%02d:%02d", min/60, min%60) }
