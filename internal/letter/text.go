package letter

// Every sentence that the program writes to customers by mail, or has read out
// to them, stands in this file, so that the tone stays one and a translation has
// one place to go. What is said of riding is common practice (no source).

import (
	"fmt"
	"strconv"
	"strings"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/message"
)

// shipped are the words of each kind until the shop has its own.
var shipped = map[message.Kind]Words{
	message.Received: {"{shop}: we have your {units}", `Hello {first name},

We have your {units}, {tickets}. Promised for {promised day}.

Here you see how far along it is, and answer if we have a question:
{link}

Is anything wrong with this? Ring us on {shop phone}.

{shop}
{shop address}
`},
	message.GoAhead: {"{shop}: may we go on with your {units}?", `Hello {first name},

We have looked at your {units}, {tickets}, and propose:
{what is proposed}

With all of it the visit comes to {total}, tax in.
With all of it, the work is done by {day with it}.

We do nothing of this before you say yes. What it is for, and where you answer:
{link}

Would you rather talk about it? Ring us on {shop phone}.

{shop}
`},
	message.Moved: {"{shop}: a new day for your {units}", `Hello {first name},

We promised your {units} for {old day}. {why it moves}
The new day is {new day}.

How far along it is:
{link}

If that day does not suit you, ring us on {shop phone}.

{shop}
`},
	message.Ready: {"{shop}: the work on your {units} is done", `Hello {first name},

{not to ride}

The work on your {units} is done, {tickets}. {how it goes back}
{what is owed}
We are open {opening times}.

What we did, what we set, and what to check before the first ride:
{link}

Do those checks before you ride. If anything knocks, leaks or feels wrong, do not ride it.
Then ring us on {shop phone}.

{shop}
{shop address}
`},
	message.StillHere: {"{shop}: still here, your {units}", `Hello {first name},

The work on your {units} has been done for {days here}, {tickets}. It waits for you here.
{not to ride}
{what is owed}
We are open {opening times}.

What we did, and what to check before the first ride:
{link}

If you cannot come, tell us how it gets back to you: ring us on {shop phone}.

{shop}
{shop address}
`},
	message.FirstRide: {"{shop}: how was the first ride?", `Hello {first name},

By now you may have ridden your {units}. Please look once:
no fresh oil, no knock, nothing loose, the pressure as you set it.

What to look at stands here, with your settings:
{link}

If it knocks, leaks or loses pressure, do not ride it.
Then ring us on {shop phone}.

{next due}

{shop}
`},
	message.DueSoon: {"{shop}: {service} for your {units}", `Hello {first name},

It is time again for a service of your {units}: {service}.
It was last done here on {last service}.
{next due}

If it has been jet washed or under water, or has had a crash, do not wait: bring it now.
To book it in, ring us on {shop phone}.

We are open {opening times}.

{shop}
{shop address}
`},
}

// Shipped are the words of a kind that come with the program.
func Shipped(kind message.Kind) Words { return shipped[kind] }

const (
	textSorry   = "We cannot keep that, and are sorry."
	textSooner  = "We are done sooner than we said."
	textAgreed  = "The day goes with the work you agreed to."
	textRefused = "The day goes without the work you did not want."
	textPickUp  = "You can pick it up."
	textSend    = "We send it to you, as agreed."
	textOwed    = "There is %s to pay."
	textSettled = "Nothing is left to pay."
	textNotRide = "Do not ride your %s as it is. Ask us about it before it is used."
	textInParts = "Your %s is not rideable. Do not ride it."
)

// nextText says when a service is due again, and by which interval.
func (p Prefs) nextText(n due.Next) string {
	var when []string
	if n.Rule.Hours > 0 {
		when = append(when, "after "+strconv.Itoa(n.Rule.Hours)+" hours of riding")
	}
	if len(n.Dates) > 0 { // a later day says nothing beside the first
		d, by := n.Dates[0], "by "
		if d.By == interval.BySeason {
			by = "at the end of the season, "
		}
		when = append(when, by+p.dueDay(d.On))
	}
	text := n.Service + " again " + strings.Join(when, " or ")
	if len(when) > 1 {
		text += ", whichever comes first"
	}
	return text + "."
}

// spoken is one line of each kind to read out to a caller, or to send as a
// short message. It asks for nothing that the caller could not answer at once.
var spoken = map[message.Kind]string{
	message.Received:  "{shop} here: we have your {units}, promised for {promised day}.",
	message.GoAhead:   "{shop} here, about your {units}. We propose: {what is proposed}. With it the visit comes to {total}, tax in. Shall we?",
	message.Moved:     "{shop} here. We promised your {units} for {old day}. {why it moves} The new day is {new day}.",
	message.Ready:     "{shop} here: the work on your {units} is done. {not to ride} {how it goes back} {what is owed} {open next}",
	message.StillHere: "{shop} here: the work on your {units} has been done for {days here}. {not to ride} {what is owed} {open next} When do you come?",
	message.DueSoon:   "{shop} here: it is time again for a service of your {units}: {service}. When would it suit you?",
	message.FirstRide: "{shop} here: how was the first ride on your {units}? No oil, no knock, nothing loose? If there is, do not ride it.",
}

const (
	textOpenNow   = "We are open until %s."
	textOpenToday = "We open at %s, until %s."
	textOpenOn    = "We open %s at %s."
)

func daysText(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprint(n) + " days"
}

// joined is a list as it is read out: what is in it twice is said once, with how
// many of it there are.
func joined(words []string) string {
	var list []string
	times := map[string]int{}
	comma := ", "
	for _, w := range words {
		if times[w]++; times[w] == 1 {
			list = append(list, w)
		}
		if strings.Contains(w, ", ") {
			comma = "; "
		}
	}
	for i, w := range list {
		if times[w] > 1 {
			list[i] = fmt.Sprintf("%s (%d of them)", w, times[w])
		}
	}
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], comma) + " and " + list[len(list)-1]
}
