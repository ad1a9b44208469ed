package letter

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/message"
)

// Line is what the desk reads out to a caller about a visit as it stands.
type Line struct {
	Kind message.Kind // empty: nothing fits
	Text string
	Note *message.Note // the newest message of the kind; nil: none was caused
}

// LineOf says what fits a visit now, and gives all that was told in it, the
// newest first.
func LineOf(ctx context.Context, q db.Querier, now time.Time, visitID int64) (l Line, notes []message.Note, err error) {
	all, err := message.Notes(ctx, q, visitID)
	if err != nil {
		return l, nil, fmt.Errorf("read what to say: %w", err)
	}
	notes = all[visitID]
	var who int64
	err = q.QueryRow(ctx, "select c.now_id from visit v join customer_now c on c.id = v.customer_id where v.id = $1", visitID).Scan(&who)
	if err != nil {
		return l, nil, fmt.Errorf("read what to say: %w", err)
	}
	f, err := read(ctx, q, now, message.Message{VisitID: visitID, CustomerID: who})
	if err != nil {
		return l, nil, fmt.Errorf("read what to say: %w", err)
	}
	if f.kind = f.fits(notes); f.kind == "" || f.moot() {
		return l, notes, nil
	}
	return Line{Kind: f.kind, Text: f.spoken(), Note: newest(notes, f.kind)}, notes, nil
}

// newest is the newest message of a kind; nil for none.
func newest(notes []message.Note, kind message.Kind) *message.Note {
	i := slices.IndexFunc(notes, func(n message.Note) bool { return n.Kind == kind })
	if i < 0 {
		return nil
	}
	return &notes[i]
}

// fits is the kind that the state of the visit asks for.
func (f facts) fits(notes []message.Note) message.Kind {
	here := len(f.units()) > 0
	moved, still, ready := newest(notes, message.Moved), newest(notes, message.StillHere), newest(notes, message.Ready)
	switch {
	case !here && newest(notes, message.FirstRide) != nil:
		return message.FirstRide
	case !here:
		return ""
	case len(f.asked()) > 0:
		return message.GoAhead
	case f.toDo() == 0 && still != nil && (ready == nil || still.ID > ready.ID):
		return message.StillHere
	case f.toDo() == 0:
		return message.Ready
	case moved != nil && !moved.Heard():
		return message.Moved
	}
	return message.Received
}

// spoken is the line for the kind, with what may have several lines in one.
func (f facts) spoken() string {
	f.prefs.Way = customer.Way{} // the desk reads it, not they
	values := maps.Clone(f.values())
	for field, v := range values {
		values[field] = strings.ReplaceAll(v, "\n", "; ")
	}
	text, _ := fill(spoken[f.kind], values)
	return strings.Join(strings.Fields(text), " ")
}
