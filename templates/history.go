package templates

import (
	"fmt"

	"damperdesk/internal/history"
)

// eventWords says an event in a line. Its detail is only read to be shown.
func eventWords(e history.Entry) string {
	text := func(key string) string {
		s, _ := e.Detail[key].(string)
		return s
	}
	switch e.Kind {
	case "job moved":
		return text("from") + " to " + text("to")
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
	case "step signed":
		return "step " + text("key") + " " + signedAs(text("role"), e.Detail["in_window"])
	case "step value given":
		return "value given for step " + text("key")
	case "work started":
		return fmt.Sprintf("bench sheet started, %v steps", e.Detail["steps"])
	}
	return e.Kind
}

func signedAs(role string, inWindow any) string {
	switch {
	case role == "checked":
		return "checked by a second person"
	case inWindow == false:
		return "signed, outside the window"
	}
	return "signed"
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
	if e.Actor == "" {
		return "the program"
	}
	return e.Actor
}
