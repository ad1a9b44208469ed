// Package due reads which unit is due for which service, and why. It joins what
// was done here with what riders said, by the rules of package interval, and
// writes nothing.
package due

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
)

// HereNow is the state of a unit with an open job: it is not rung for.
const HereNow interval.State = "here now"

// States in the order of the list: who has waited longest, what nobody can
// know, what can wait.
var States = append(slices.Clone(interval.States), HereNow)

// Row is one service of one unit.
type Row struct {
	Unit
	// Service is empty for a unit that has had no service here which comes due
	// again.
	Service  string
	Code     string
	Standing interval.Standing
}

// State is that of the service, or HereNow.
func (r Row) State() interval.State {
	if r.OpenJobID != 0 {
		return HereNow
	}
	return r.Standing.State
}

// Listing is the due list of the whole shop.
type Listing struct {
	Rows     []Row               // the most urgent first
	Services []procedure.Service // of which any unit has had one here, in the shop's order
}

// List reads the due list, of one service by its code or of all with none.
//
// A service counts for a unit once it has been done here: on a job that ended
// done, by itself or covered by another of that job. Any other ending leaves
// the list as it was. A unit that has had none stands once, unknown. A service
// is left out where another that covers it is at least as urgent, so that
// nobody is rung about two when one press of the bench does both. A unit that
// was left for scrap is not on the list. Where one service is asked for, units
// that have had none of it are not there either.
func List(ctx context.Context, q db.Querier, now time.Time, service string) (Listing, error) {
	b, err := readBook(ctx, q, now, 0)
	if err != nil {
		return Listing{}, fmt.Errorf("read due list: %w", err)
	}
	list := make([]Row, 0, len(b.units))
	had := map[string]bool{}
	for _, u := range b.units {
		rows := b.had(u)
		for _, r := range rows {
			had[r.Code] = true
		}
		if service == "" {
			rows = b.toRing(u, rows)
		} else {
			rows = slices.DeleteFunc(rows, func(r Row) bool { return r.Code != service })
		}
		list = append(list, rows...)
	}
	list = byUrgency(list)
	services := slices.DeleteFunc(slices.Clone(b.services), func(s procedure.Service) bool { return !had[s.Code] })
	return Listing{list, services}, nil
}

// byUrgency orders rows as States does, then by what is due first. It sorts
// their addresses: a row is long, and there are tens of thousands.
func byUrgency(rows []Row) []Row {
	at := make([]*Row, len(rows))
	for i := range rows {
		at[i] = &rows[i]
	}
	slices.SortFunc(at, func(x, y *Row) int {
		if c := slices.Index(States, x.State()) - slices.Index(States, y.State()); c != 0 {
			return c
		}
		if c := interval.Earliest(x.Standing, y.Standing); c != 0 {
			return c
		}
		return cmp.Or(cmp.Compare(x.Customer, y.Customer), cmp.Compare(x.ID, y.ID))
	})
	sorted := make([]Row, len(rows))
	for i, r := range at {
		sorted[i] = *r
	}
	return sorted
}

// OfUnit is every service with a rule that the unit can have, in the shop's
// order, whether it was ever done here or not.
func OfUnit(ctx context.Context, q db.Querier, unitID int64, now time.Time) ([]Row, error) {
	b, err := readBook(ctx, q, now, unitID)
	if err != nil {
		return nil, fmt.Errorf("read due of unit %d: %w", unitID, err)
	}
	var list []Row
	for _, u := range b.units {
		log := b.log(u)
		for _, s := range b.services {
			_, done := b.served[u.ID][s.Code]
			if !done && (!s.For(u.Kind) || !s.Suits(u.Spring)) {
				continue
			}
			if row, counts := b.row(u, s, log); counts {
				list = append(list, row)
			}
		}
	}
	return list, nil
}

// Next is when a service is due again, counted from the day it was done.
type Next struct {
	Service string
	Code    string
	Rule    interval.Rule
	Dates   []interval.Date // the earliest first
}

// After is when the services of those codes, and what they cover, are due again
// on a unit of a model that was ready on a day; modelID 0 is a model that is
// not known.
func After(ctx context.Context, q db.Querier, codes []string, modelID int64, ready time.Time, settings shop.Settings) ([]Next, error) {
	services, err := procedure.Services(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("read next due: %w", err)
	}
	rules, err := interval.ReadRules(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("read next due: %w", err)
	}
	season := interval.SeasonOf(settings.Hemisphere)
	var list []Next
	for _, s := range procedure.Done(services, codes) {
		if rule, ok := rules.For(s.Code, modelID); ok && rule.Counts() {
			day := interval.Day(ready, settings.Location())
			list = append(list, Next{s.Name, s.Code, rule, rule.Dates(day, season)})
		}
	}
	return list, nil
}

// had are the services that a unit has had here and that come due again.
func (b *book) had(u Unit) []Row {
	served := b.served[u.ID]
	if len(served) == 0 {
		return nil
	}
	list, log := make([]Row, 0, len(served)), b.log(u)
	for _, s := range b.services {
		if _, done := served[s.Code]; !done {
			continue
		}
		if row, counts := b.row(u, s, log); counts {
			list = append(list, row)
		}
	}
	return list
}

// toRing leaves of the services of a unit those that stand for the others, or
// one row for a unit that has had none.
func (b *book) toRing(u Unit, had []Row) []Row {
	if len(had) == 0 && b.couldBeDue(u) {
		return []Row{{Unit: u, Standing: interval.Standing{State: interval.Unknown}}}
	}
	if len(had) == 1 {
		return had
	}
	return slices.DeleteFunc(slices.Clone(had), func(r Row) bool {
		return slices.ContainsFunc(had, func(other Row) bool { return b.stands(other, r) })
	})
}

// stands reports whether doing the one service leaves nothing to ring for the
// other.
func (b *book) stands(one, other Row) bool {
	x, y := one.Standing.State, other.Standing.State
	return slices.Contains(b.covers[one.Code], other.Code) && one.Code != other.Code &&
		(x == y || x != interval.Unknown && interval.Urgency(x, y) <= 0)
}

// couldBeDue reports whether the unit can have a service that comes due again.
func (b *book) couldBeDue(u Unit) bool {
	return slices.ContainsFunc(b.services, func(s procedure.Service) bool {
		rule, ok := b.rules.For(s.Code, u.ModelID)
		return ok && rule.Counts() && s.For(u.Kind) && s.Suits(u.Spring)
	})
}

// row is how a service of a unit stands; counts is false where no rule makes it
// due.
func (b *book) row(u Unit, s procedure.Service, log interval.Log) (r Row, counts bool) {
	rule, ok := b.rules.For(s.Code, u.ModelID)
	if !ok || !rule.Counts() {
		return r, false
	}
	var served *interval.Served
	if at, ok := b.served[u.ID][s.Code]; ok {
		served = &at
	}
	return Row{Unit: u, Service: s.Name, Code: s.Code, Standing: rule.Stand(served, log, b.season, b.today)}, true
}

// log is what was said of the riding of a unit.
func (b *book) log(u Unit) interval.Log { return interval.NewLog(b.readings[u.ID], b.zone) }
