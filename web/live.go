package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"damperdesk/internal/fault"
	"damperdesk/templates"
)

// liveBeat keeps proxies from closing a quiet stream.
const liveBeat = 20 * time.Second

// live streams a bare "changed" whenever a wanted subject changes: of=board is
// every job, of=job:12 one, of=advice:0 how far it is reckoned what to order, of=messages
// whatever becomes of a message. The page then fetches itself again.
func (a *App) live(w http.ResponseWriter, r *http.Request) error {
	of := r.URL.Query().Get("of")
	if of != "board" && of != templates.LiveAdvice && of != templates.LiveMessages && !strings.HasPrefix(of, "job:") {
		return fault.NotFound("There is nothing live of that name.")
	}
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no") // for proxies that collect before they pass on
	if r.Method == http.MethodHead {
		return nil // nobody listens
	}
	stream := a.hub.Open(func(subject string) bool {
		return subject == of || of == "board" && strings.HasPrefix(subject, "job:") ||
			of == templates.LiveMessages && strings.HasPrefix(subject, "message:")
	})
	defer stream.Close()
	out := http.NewResponseController(w)
	// The server's limits are for pages; a stream ends when nobody reads it.
	out.SetReadDeadline(time.Time{})
	say := func(line string) error {
		out.SetWriteDeadline(time.Now().Add(liveBeat))
		if _, err := fmt.Fprint(w, line); err != nil {
			return err
		}
		return out.Flush()
	}
	if say("retry: 1000\n\ndata: here\n\n") != nil {
		return nil
	}
	beat := time.NewTicker(liveBeat)
	defer beat.Stop()
	for {
		line := ": still here\n\n"
		select {
		case <-r.Context().Done():
			return nil
		case <-a.Stopping.Done():
			return nil
		case <-stream.Changed():
			line = "data: changed\n\n"
		case <-beat.C:
		}
		if say(line) != nil {
			return nil
		}
	}
}
