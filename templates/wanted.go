package templates

import (
	"strings"

	"damperdesk/internal/message"
)

// WantedPage is where a customer says what they want to be written. Nobody is
// signed in there.
type WantedPage struct {
	Base
	Token  string
	Kind   message.Kind // of the message they come from
	Wanted map[message.Kind]bool
}

// wantedText says each kind as its reader knows it.
var wantedText = map[message.Kind]string{
	message.Received:  "that we have it, when you bring something in",
	message.GoAhead:   "what we propose, when we need your yes or no",
	message.Moved:     "when the day it is promised for moves",
	message.Ready:     "that it is ready to be fetched",
	message.StillHere: "that it is still here, when it has been ready for some days",
	message.FirstRide: "how the first ride was",
	message.DueSoon:   "when a service is due again",
}

func wantedOptions(wanted map[message.Kind]bool, from message.Kind) []Option {
	var list []Option
	for _, k := range message.Kinds {
		o := Option{Value: string(k), Label: upperFirst(wantedText[k]), Chosen: wanted[k]}
		if k == from {
			o.Note = "the message you come from"
		}
		list = append(list, o)
	}
	return list
}

// WantedDone is what the page says after its form.
const WantedDone = "It is kept. We write what is ticked here, and nothing else."

// laterOptions are the kinds that nobody gets who did not ask for them.
func laterOptions() []Option {
	return []Option{
		{Value: string(message.DueSoon), Label: "Remind them when it is due"},
		{Value: string(message.FirstRide), Label: "Ask after the first ride"},
	}
}

// laterWords names those of them that are ticked.
func laterWords(value string) string {
	var words []string
	for _, o := range laterOptions() {
		if strings.Contains(", "+value+", ", ", "+o.Value+", ") {
			words = append(words, o.Label)
		}
	}
	return strings.Join(words, ", ")
}
