package letter

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// reminder is a service that is due again, as things stand.
type reminder struct {
	due.Row
	id   int64 // of its message; 0: none
	moot bool  // it says nothing any more
}

// readReminders reads what messages say is due again. It is moot where the unit
// is here, the service put off or done since, or what asked for it taken back;
// none where the unit is another customer's by now or left for scrap.
func readReminders(ctx context.Context, q db.Querier, now time.Time, list []message.Message) (found []reminder, err error) {
	for _, m := range list {
		rows, err := due.OfUnit(ctx, q, m.UnitID, now)
		if errors.As(err, new(fault.NotFound)) {
			continue
		}
		if err != nil {
			return nil, err
		}
		i := slices.IndexFunc(rows, func(r due.Row) bool { return r.Code == m.Service && r.CustomerID == m.CustomerID })
		if i < 0 {
			continue
		}
		off, err := due.IsOff(ctx, q, m.UnitID, m.Service, rows[i].Today)
		if err != nil {
			return nil, err
		}
		found = append(found, reminder{rows[i], m.ID, off || !holds(rows[i], m)})
	}
	return found, nil
}

// holds reports whether a service still is due by what a message was caused by.
// One that has no cause is tried on what stands.
func holds(r due.Row, m message.Message) bool {
	if r.OpenJobID != 0 {
		return false
	}
	if m.ID == 0 {
		return true
	}
	done, asked := m.Since()
	if served(r) != done {
		return false
	}
	return !asked || r.Served != nil || r.Asked != nil
}

// served is the day on which a service was last done, as its cause is keyed.
func served(r due.Row) string {
	if r.Served == nil {
		return "never"
	}
	return r.Served.Left.Format(time.DateOnly)
}

// remind adds what goes with a message that is about to be written, and drops what
// of it says nothing any more. Where the message itself does not, nothing is
// left: the rest has letters of its own then.
func (f *facts) remind(ctx context.Context, tx pgx.Tx, by history.By, m message.Message) error {
	if f.moot() {
		return nil
	}
	with, err := message.Together(ctx, tx, m.ID)
	if err != nil {
		return err
	}
	found, err := readReminders(ctx, tx, by.At, with)
	if err != nil {
		return err
	}
	for _, w := range with {
		if !slices.ContainsFunc(found, func(r reminder) bool { return r.id == w.ID && !r.moot }) {
			if err := w.Leave(ctx, tx, by); err != nil {
				return err
			}
		}
	}
	f.reminds = append(f.reminds, found...)
	return nil
}

// dueValues names a unit in the lines of the next days only where there are
// several, and says when the service was last done where that is one day.
func (f facts) dueValues(v map[string]string) {
	var units, services, last, next []string
	seen := map[int64]bool{}
	list := slices.DeleteFunc(slices.Clone(f.reminds), func(r reminder) bool { return r.moot })
	if len(list) == 0 {
		list = f.reminds // tried on what it does not fit
	}
	for _, r := range list {
		if !seen[r.ID] {
			seen[r.ID], units = true, append(units, r.Name)
		}
		services = once(services, lowerFirst(r.Service))
		if r.Served != nil {
			last = once(last, f.prefs.dated(r.Served.Left))
		} else {
			last = once(last, "")
		}
	}
	for _, r := range list {
		if r.Served == nil {
			continue
		}
		text := f.prefs.nextText(due.Next{Service: r.Service, Rule: r.Rule, Dates: r.Dates})
		if len(units) > 1 {
			text = r.Name + ": " + lowerFirst(text)
		}
		next = once(next, text)
	}
	v["units"], v["service"], v["next due"] = joined(units), joined(services), strings.Join(next, "\n")
	v["last service"] = ""
	if len(last) == 1 {
		v["last service"] = last[0]
	}
}

func once(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}
