package templates

// Every sentence a customer reads that is not typed by the shop stands in this
// file, so that the tone stays one and a translation has one place to go.

import (
	"fmt"
	"strconv"
	"strings"

	"damperdesk/internal/bench"
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
	textBeforeRide = "Before the first ride"
	textAfterRide  = "After the first ride"
	textDoNotRide  = "a %s that knocks, leaks or loses pressure. Ring us instead."
	textManual     = "The maker’s current manual governs. If it says otherwise than this page, follow it and tell us."
	textWrongLink  = "This address shows no visit. It may be too old: ring the shop for a new one."
)

var textBefore = []string{
	"Axle tight, brake lever bites where it used to.",
	"Push the bar down hard five times: smooth, no knock.",
	"A faint wet ring on the stanchion is normal today.",
}

// firstName is how the page speaks to the customer.
func firstName(name string) string {
	first, _, _ := strings.Cut(strings.TrimSpace(name), " ")
	return first
}

func customerHeading(j job.Job) string {
	return firstName(j.Customer) + ", " + fmt.Sprintf(customerText[j.Stage].heading, j.Kind)
}

func customerLine(j job.Job) string { return customerText[j.Stage].line }

// endingText says how a job ended when it did not end done.
var endingText = map[string]string{
	"returned undone":                 "It goes back as it came, without the service.",
	"returned in parts, not rideable": "It goes back in parts and cannot be ridden.",
	"not worth repairing":             "Repairing it would cost more than it is worth.",
	"no fault found":                  "We looked for the fault and did not find it.",
	"no parts":                        "The parts it needs cannot be had.",
	"left for scrap":                  "It was left with us for scrap.",
}

// afterRide is what to look at after the first ride, with the pressure it left
// with where one was set.
func afterRide(settings []bench.Setting, p Prefs) []string {
	for _, s := range settings {
		if s.Key == "pressure" && s.Returned != nil && s.Returned.ValueSI != nil {
			return []string{
				"Air still at " + p.Pressure(*s.Returned.ValueSI) + " (a pump takes a little with its hose).",
				"No oil at the feet or on the stanchions.",
			}
		}
	}
	return []string{"No oil at the feet or on the stanchions."}
}

// dueText says when a service is due again.
func (b Base) dueText(d summary.Due) string {
	var when []string
	if d.Hours > 0 {
		when = append(when, "after "+strconv.Itoa(d.Hours)+" hours of riding")
	}
	if d.By != nil {
		when = append(when, "by "+b.Date(*d.By))
	}
	text := d.Service + " again " + strings.Join(when, " or ")
	if len(when) > 1 {
		text += ", whichever comes first"
	}
	return text + "."
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
