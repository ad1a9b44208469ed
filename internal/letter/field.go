package letter

import (
	"slices"

	"damperdesk/internal/message"
)

// Field is what a shop may put between braces.
type Field struct {
	Name    string
	Meaning string
	Empty   bool // it may be
	Lines   bool // it may have several
	Kinds   []message.Kind
}

// kinds but those that are of no visit.
var ofVisit = []message.Kind{message.Received, message.GoAhead, message.Moved, message.Ready, message.StillHere, message.FirstRide}

var fields = []Field{
	{Name: "shop", Meaning: "the shop’s name", Kinds: message.Kinds},
	{Name: "shop phone", Meaning: "its number", Empty: true, Kinds: message.Kinds},
	{Name: "shop address", Meaning: "where it is, in one line", Empty: true, Kinds: message.Kinds},
	{Name: "opening times", Meaning: "the week’s hours: Tuesday to Friday 10:00 to 18:00", Empty: true, Kinds: message.Kinds},
	{Name: "first name", Meaning: "the customer’s", Kinds: message.Kinds},
	{Name: "units", Meaning: "what it is about: the fork, or the fork and the shock, by maker and model", Kinds: message.Kinds},
	{Name: "tickets", Meaning: "ticket 1041, or tickets 1041 and 1042", Kinds: ofVisit},
	{Name: "link", Meaning: "the address of the customer’s page", Kinds: ofVisit},
	{Name: "promised day", Meaning: "when it is to be ready: Tuesday 14 October, 17:00", Kinds: []message.Kind{message.Received, message.GoAhead, message.Moved}},
	{Name: "what is proposed", Meaning: "each on a line of its own, with its price", Lines: true, Kinds: []message.Kind{message.GoAhead}},
	{Name: "total", Meaning: "what the visit comes to with all of it, tax in", Kinds: []message.Kind{message.GoAhead}},
	{Name: "day with it", Meaning: "when it is ready with all of it", Empty: true, Kinds: []message.Kind{message.GoAhead}},
	{Name: "old day", Meaning: "what the customer was told before", Kinds: []message.Kind{message.Moved}},
	{Name: "new day", Meaning: "what is promised now", Kinds: []message.Kind{message.Moved}},
	{Name: "why it moves", Meaning: "one sentence: that we are sorry, or that it goes with what they agreed to", Kinds: []message.Kind{message.Moved}},
	{Name: "not to ride", Meaning: "for each unit that is not safe, a line that says so", Empty: true, Lines: true, Kinds: []message.Kind{message.Ready, message.StillHere}},
	{Name: "how it goes back", Meaning: "that they pick it up, or that we send it", Kinds: []message.Kind{message.Ready}},
	{Name: "what is owed", Meaning: "There is £72.00 to pay, or that nothing is", Empty: true, Kinds: []message.Kind{message.Ready, message.StillHere}},
	{Name: "days here", Meaning: "for how long it has been ready: 7 days", Kinds: []message.Kind{message.StillHere}},
	{Name: "next due", Meaning: "when each service is due again, and by which interval", Empty: true, Lines: true, Kinds: []message.Kind{message.FirstRide, message.DueSoon}},
	{Name: "service", Meaning: "the service that is due", Kinds: []message.Kind{message.DueSoon}},
	{Name: "last service", Meaning: "when it was last done here: 14 October 2025", Empty: true, Kinds: []message.Kind{message.DueSoon}},
}

// FieldsOf are those that messages of a kind have.
func FieldsOf(kind message.Kind) []Field {
	return slices.DeleteFunc(slices.Clone(fields), func(f Field) bool { return !slices.Contains(f.Kinds, kind) })
}

// FieldOf finds a field by its name.
func FieldOf(name string) (Field, bool) {
	i := slices.IndexFunc(fields, func(f Field) bool { return f.Name == name })
	if i < 0 {
		return Field{}, false
	}
	return fields[i], true
}
