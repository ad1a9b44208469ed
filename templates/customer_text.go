package templates

// Every sentence a customer reads that is not typed by the shop stands in this
// file, so that the tone stays one and a translation has one place to go.

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/summary"
)

// customerText is what is said at each stage: a heading for a kind of unit and
// a line below it.
var customerText = map[string]struct{ heading, line string }{
	"booked":           {"your %s is booked in.", "We have not got it yet. Bring it as agreed."},
	"dropped off":      {"your %s is with us.", "We have it, and look at it when its turn comes."},
	"arrived":          {"your %s has arrived.", "The parcel is here. We look at it when its turn comes."},
	"in the queue":     {"your %s waits its turn.", "It is in the queue for the bench."},
	"on the bench":     {"your %s is being worked on.", "A mechanic has it on the bench right now."},
	"final check":      {"your %s is nearly done.", "The work is done; we are proving it and setting it up."},
	"ready for pickup": {"your %s is ready.", ""},
	"picked up":        {"your %s is back with you.", "You have picked it up."},
	"sent back":        {"your %s is on its way back.", "We have sent it."},
	"cancelled":        {"your %s is no longer with this job.", "This job has ended without the service."},
}

// holdText says in plain words what a job waits for.
var holdText = map[string]string{
	"waiting on parts":    "We are waiting for a part.",
	"waiting on customer": "We are waiting for your answer. Please ring us.",
	"sent out":            "It is with a specialist for part of the work.",
}

const (
	textDesk       = "suspension desk"
	textNotDone    = "Not done yet: please look at what is marked."
	textSkip       = "Skip to the content"
	textWhere      = "Where it is"
	textPromised   = "Promised"
	textSent       = "Sent with"
	textComeBy     = "Come by"
	textToRide     = "To ride"
	textCallShop   = "Call the shop"
	textCalendar   = "Put pickup in my calendar"
	textDayToCal   = "Put the promised day in my calendar"
	textDueToCal   = "Put it in my calendar"
	textOpen       = "When we are open"
	textNextDue    = "When it is next due"
	textFoundHead  = "What was found"
	textPictureIs  = "picture is"
	textMissing    = "missing"
	textBeforeRide = "Before the first ride"
	textAfterRide  = "After the first ride"
	textManual     = "The maker’s current manual governs. If it says otherwise than this page, follow it and tell us."
	textNoAir      = "No air in."
	textDue        = "By the shop’s interval for this model. Wet, gritty or lift-served riding and e-bikes need it sooner."
	textFound      = "What the mechanic saw on it. What is marked “needs doing” and does not stand in the note or among the work as done is still to do: ask us about it."
	textPictures   = "Pictures of the parts"
	textPicture    = "your unit, as it was on the bench"
	textUnsafe     = "Do not ride it as it is."
	textAskUs      = "Ask us about it before it is used."
	textBand       = "The band is where it may be, the dot is yours."
)

// movedText tells of a promise that cannot be kept, and of the new day, in one
// line to read out or to send. phone may be empty.
func (b Base) movedText(units []string, phone string, was, to time.Time) string {
	text := fmt.Sprintf("%s here. We promised your %s for %s. We cannot keep that, and are sorry: the work will be done by %s.",
		b.Shop, strings.Join(units, " and "), b.Moment(was), b.Moment(to))
	if phone != "" {
		text += " If that does not suit you, ring us on " + phone + "."
	}
	return text
}

// routeStops are the places on the way, in customers’ words.
var routeStops = []string{"dropped off", "on the bench", "final check", "ready for pickup"}

func pageTitle(numbers string) string { return "Your visit, ticket " + numbers }

func ticketText(j job.Job) string { return "Ticket " + num(j.Number) + "." }

func didTheWork(mechanic string) string { return mechanic + ", who did the work" }

// firstName is how the page speaks to the customer.
func firstName(name string) string {
	first, _, _ := strings.Cut(strings.TrimSpace(name), " ")
	return first
}

// customerHeading speaks to the customer where the visit has one unit; of
// several each has its own sentence.
func customerHeading(j job.Job, several bool) string {
	text := fmt.Sprintf(customerText[j.Stage].heading, j.Kind)
	if several {
		return upperFirst(text)
	}
	return firstName(j.Customer) + ", " + text
}

// visitHeading heads a visit of several units.
func (p CustomerPage) visitHeading() string {
	n := 0
	for _, u := range p.Units {
		if routeAt(u.Job.Stage) == 4 {
			n++
		}
	}
	name := firstName(p.Units[0].Job.Customer)
	switch n {
	case 0:
		return name + ", this is how far your " + num(len(p.Units)) + " units are."
	case len(p.Units):
		return name + ", all is done."
	}
	return name + ", " + num(n) + " of your " + num(len(p.Units)) + " units is done."
}

// unitLine says what it is and what was asked for, in running text.
func unitLine(j job.Job) string {
	line := j.Unit
	if len(j.ServiceNames) > 0 {
		names := make([]string, len(j.ServiceNames))
		for i, name := range j.ServiceNames {
			names[i] = lowerFirst(name)
		}
		line += ", " + joined(names)
	}
	return line + "."
}

// signedText counts the steps, and those a second person checked.
func signedText(u summary.Unit) string {
	text := plural(u.Sheet.Signed(), "step") + " signed"
	if n := u.SecondChecks(); n > 0 {
		text += ", " + num(n) + " of them checked by a second person"
	}
	return text + "."
}

func customerLine(j job.Job) string { return customerText[j.Stage].line }

// sentText says who carries what was sent back.
func sentText(j job.Job) (carrier, tracking string) {
	if j.Tracking == "" {
		return j.Carrier + ".", ""
	}
	return j.Carrier + ",", "tracking code " + j.Tracking + "."
}

// endingText says how a job ended when it did not end done.
var endingText = map[string]string{
	"returned undone":                 "It goes back as it came, without the service: whatever was wrong still is.",
	"returned in parts, not rideable": "It goes back in parts. Do not ride it.",
	"not worth repairing":             "Repairing it would cost more than it is worth. Do not ride it as it is.",
	"no fault found":                  "We looked for the fault and did not find it. If it shows again, stop riding and bring it back.",
	"no parts":                        "The parts it needs cannot be had: whatever was wrong still is.",
	"left for scrap":                  "It was left with us for scrap, and is not ridden again.",
}

// dueText says when a service is due again.
func (b Base) dueText(n due.Next) string {
	var when []string
	if n.Rule.Hours > 0 {
		when = append(when, "after "+strconv.Itoa(n.Rule.Hours)+" hours of riding")
	}
	if len(n.Dates) > 0 { // a later day says nothing beside the first
		d, by := n.Dates[0], "by "
		if d.By == interval.BySeason {
			by = "at the end of the season, "
		}
		when = append(when, by+b.dueDay(d.On))
	}
	text := n.Service + " again " + strings.Join(when, " or ")
	if len(when) > 1 {
		text += ", whichever comes first"
	}
	return text + "."
}

// causeText says how what was found came about; that it happened here is said
// as plainly as the rest.
var causeText = map[string]string{
	bench.FoundSo:      "It came so.",
	bench.HappenedHere: "This happened here, while we worked on it.",
}

// putRightText says what was found and what was done about it.
func putRightText(f bench.Finding) string {
	return "Found, “" + f.Grade + "”. Put right: " + f.AnswerWords
}

// verdictShape and verdictText are the mechanic's word on riding.
func verdictShape(grade string) Shape {
	switch grade {
	case "safe to ride":
		return Square
	case "do not ride":
		return Octagon
	}
	return HalfDisc
}

// joined is a list as it is read out: "lower-leg service and inspection".
func joined(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// cardFoot says how the settings are read and which job they are from.
func (p CustomerPage) cardFoot(u summary.Unit) string {
	foot := "Clicks from closed."
	if slices.ContainsFunc(u.Sheet.Settings(), func(s bench.Setting) bool { return s.Key == "preload" }) {
		foot = "Clicks from closed, preload in turns from fully out."
	}
	if u.Job.ReadyAt != nil {
		foot += " " + p.Day(*u.Job.ReadyAt) + ", ticket " + num(u.Job.Number) + "."
	}
	return foot
}

// heading heads the page that says why another cannot be shown.
func (p ErrorPage) heading() string {
	switch p.Status {
	case 403:
		return "Not for your role"
	case 404:
		return "Not here"
	case 409:
		return "Something changed meanwhile"
	case 429:
		return "Too many tries"
	}
	if p.Status >= 500 {
		return "That did not work"
	}
	return "That cannot be taken"
}
