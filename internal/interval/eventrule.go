package interval

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// EventRule makes a service due once something has happened to a unit: so many
// days or months after it, or hours of riding, whichever comes first. With none
// of them it never does.
type EventRule struct {
	Kind        string // of an Event
	ServiceCode string
	Days        *int // 0: at once; nil: days do not count
	Months      int
	Hours       int
	LeastMonths int // Stored: how long at least, for the rule to hold
	// Hint says that it is only said what to look at: the service is not due.
	Hint    bool
	Version int // 0: one that is not kept
}

// Counts reports whether the rule ever makes the service due.
func (r EventRule) Counts() bool { return r.Days != nil || r.Months > 0 || r.Hours > 0 }

var atOnce = new(int)

// shippedEvents are common practice (no source): a new fork a look at 20 to 30
// h; stored three months pressure, cycle, wipers, over a year the lowers; after
// a jet wash or a dip the lowers now; after a crash the crown and steerer now.
// What is to be kept an eye on after half a lower-leg's hours or months: our own
// reckoning.
var shippedEvents = []EventRule{
	{Kind: Stored, ServiceCode: "air-spring", LeastMonths: 3, Hint: true},
	{Kind: Stored, ServiceCode: "air-can", LeastMonths: 3, Hint: true},
	{Kind: Stored, ServiceCode: "lower-leg", LeastMonths: 12, Days: atOnce},
	{Kind: JetWash, ServiceCode: "lower-leg", Days: atOnce},
	{Kind: UnderWater, ServiceCode: "lower-leg", Days: atOnce},
	{Kind: Crash, ServiceCode: "crown-steerer", Days: atOnce},
	{Kind: New, ServiceCode: "lower-leg", Hours: 25},
	{Kind: Watched, ServiceCode: "lower-leg", Hours: 25, Months: 6},
	{Kind: Watched, ServiceCode: "air-spring", Hours: 25, Months: 6},
	{Kind: Watched, ServiceCode: "coil-spring", Hours: 25, Months: 6},
	{Kind: Watched, ServiceCode: "damper", Hours: 25, Months: 6},
	{Kind: Watched, ServiceCode: "crown-steerer", Hours: 25, Months: 6},
	{Kind: Watched, ServiceCode: "air-can", Hours: 25, Months: 6},
}

// unplaced are the services that look at what was found at no block of one:
// that of a fork and that of a rear shock.
var unplaced = []string{"lower-leg", "air-can"}

// EventRules are the shop's.
type EventRules []EventRule

// Of are the rules that hold for an event, hints too.
func (rules EventRules) Of(e Event) []EventRule {
	var list []EventRule
	for _, r := range rules {
		if r.Kind != e.Kind || r.LeastMonths > 0 && AddMonths(e.OnDay, r.LeastMonths).After(e.Day()) {
			continue
		}
		services := e.Services
		if len(services) == 0 {
			services = unplaced
		}
		if e.Kind == Watched && !slices.Contains(services, r.ServiceCode) {
			continue
		}
		list = append(list, r)
	}
	return list
}

// Ask is what an event asks of a service.
type Ask struct {
	Event Event
	Rule  EventRule
}

// Asks are what events still ask of a service that was last done then, nil for
// never: those that came after.
func (rules EventRules) Asks(service string, events []Event, served *Served) []Ask {
	var list []Ask
	for _, e := range events {
		if e.Answered(served) {
			continue
		}
		for _, r := range rules.Of(e) {
			if r.ServiceCode == service && r.Counts() {
				list = append(list, Ask{e, r})
			}
		}
	}
	return list
}

// By is the limit that an event is.
func (a Ask) By() By { return By(a.Event.Kind) }

// dates are the days it asks for, each overdue four weeks after. Months end as
// AddMonths says.
func (a Ask) dates() []Date {
	var list []Date
	if a.Rule.Days != nil {
		on := a.Event.Day().AddDate(0, 0, *a.Rule.Days)
		list = append(list, Date{a.By(), on, on.AddDate(0, 0, nearDays)})
	}
	if a.Rule.Months > 0 {
		on := AddMonths(a.Event.Day(), a.Rule.Months)
		list = append(list, Date{a.By(), on, on.AddDate(0, 0, nearDays)})
	}
	return list
}

// ReadEventRules reads the shop's rules, by kind and service.
func ReadEventRules(ctx context.Context, q db.Querier) (EventRules, error) {
	rows, err := q.Query(ctx, `select kind, service_code, days, coalesce(months, 0) as months, coalesce(hours, 0) as hours,
			least_months, hint, version from event_rule`)
	list, err := db.All[EventRule](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what events ask for: %w", err)
	}
	kinds := append(slices.Clone(Happenings), Watched)
	slices.SortFunc(list, func(a, b EventRule) int {
		return cmp.Or(slices.Index(kinds, a.Kind)-slices.Index(kinds, b.Kind), cmp.Compare(a.LeastMonths, b.LeastMonths),
			cmp.Compare(a.ServiceCode, b.ServiceCode))
	})
	return list, nil
}

func installEventRules(ctx context.Context, tx pgx.Tx, by history.By) error {
	for _, r := range shippedEvents {
		tag, err := tx.Exec(ctx, `insert into event_rule (kind, service_code, days, months, hours, least_months, hint)
			select $1, code, $3, nullif($4, 0), nullif($5, 0), $6, $7 from service where code = $2
			on conflict (kind, service_code) do nothing`, r.Kind, r.ServiceCode, r.Days, r.Months, r.Hours, r.LeastMonths, r.Hint)
		if err == nil && tag.RowsAffected() == 1 {
			err = r.tell(ctx, tx, by, "event rule installed")
		}
		if err != nil {
			return fmt.Errorf("install what %s asks for: %w", r.Kind, err)
		}
	}
	return nil
}

// Check says by field ("kind", "days", "months", "hours", "least", "hint") what
// cannot stand.
func (r EventRule) Check() map[string]string {
	f := sentences{}
	f.add(!slices.Contains(Happenings, r.Kind) && r.Kind != Watched, "kind", "Choose what happened.")
	f.add(r.Days != nil && (*r.Days < 0 || *r.Days > 366), "days", "Type 0 to 366 days: 0 is at once.")
	f.add(r.Months < 0 || r.Months > mostMonths, "months", fmt.Sprintf("Type 1 to %d months, or nothing where months do not count.", mostMonths))
	f.add(r.Hours < 0 || r.Hours > mostHours, "hours", fmt.Sprintf("Type 1 to %d hours, or nothing where hours do not count.", mostHours))
	f.add(r.LeastMonths < 0 || r.LeastMonths > mostMonths, "least", fmt.Sprintf("Type 0 to %d months.", mostMonths))
	f.add(r.LeastMonths > 0 && r.Kind != Stored, "least", "Only for being stored: leave it empty.")
	f.add(r.Hint && r.Counts(), "hint", "A hint makes nothing due: clear the limits, or clear this.")
	return f
}

// SetEvent keeps a rule over the version that was seen, 0 for one there was none
// of. Fields of fault.Invalid are those of Check. Only an owner decides it.
func SetEvent(ctx context.Context, tx pgx.Tx, by history.By, r EventRule) error {
	if !by.Has("owner") {
		return errOwner
	}
	if wrong := r.Check(); len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	if err := (Rule{ServiceCode: r.ServiceCode}).known(ctx, tx); err != nil {
		return err
	}
	sql := `update event_rule set days = $3, months = nullif($4, 0), hours = nullif($5, 0), least_months = $6, hint = $7, version = version + 1
		where kind = $1 and service_code = $2 and version = $8`
	args := []any{r.Kind, r.ServiceCode, r.Days, r.Months, r.Hours, r.LeastMonths, r.Hint}
	if r.Version == 0 {
		sql = `insert into event_rule (kind, service_code, days, months, hours, least_months, hint)
			values ($1, $2, $3, nullif($4, 0), nullif($5, 0), $6, $7) on conflict (kind, service_code) do nothing`
	} else {
		args = append(args, r.Version)
	}
	if err := db.Changed(tx.Exec(ctx, sql, args...)); err != nil {
		return fmt.Errorf("set what %s asks for: %w", r.Kind, err)
	}
	return r.tell(ctx, tx, by, "event rule set")
}

func (r EventRule) tell(ctx context.Context, tx pgx.Tx, by history.By, kind string) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: kind, Detail: map[string]any{
		"event": r.Kind, "service": r.ServiceCode, "days": r.Days, "months": r.Months, "hours": r.Hours, "least months": r.LeastMonths, "hint": r.Hint}})
}
