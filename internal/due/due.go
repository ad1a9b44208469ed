// Package due keeps which unit comes due for which service, when and why. It
// joins what was done here with what riders said, by the rules of package
// interval, into one table that is reckoned anew for a unit in the act that
// touches it, and for all of them every night.
package due

import (
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

// Booked is the state of a unit that is to come in, Off that of one that nobody
// is to ring about for now.
const (
	Booked interval.State = "booked"
	Off    interval.State = "put off"
)

// States in the order of the list: who has waited longest, what nobody can
// know, what can wait, and who is not rung for.
var States = append(slices.Clone(interval.States), HereNow, Booked, Off)

// Row is one service of one unit.
type Row struct {
	Unit
	// Service is empty for a unit that has had no service here which comes due
	// again.
	Service string
	Code    string
	// Outlook has of its rule only the limits, and of its dates only the first,
	// where it comes from the table.
	interval.Outlook
	Today time.Time // what State is of
	Off   bool      // nobody is to ring about it; of the list alone
}

// State is that of the service on the day of the list, or why nobody rings.
func (r Row) State() interval.State { return r.on(r.Today) }

func (r Row) on(day time.Time) interval.State {
	switch {
	case r.BookedFor != nil:
		return Booked
	case r.OpenJobID != 0:
		return HereNow
	case r.Off:
		return Off
	}
	return r.Outlook.State(day)
}

// OfUnit is every service with a rule that the unit can have, in the shop's
// order, whether it was ever done here or not, reckoned on the spot.
func OfUnit(ctx context.Context, q db.Querier, unitID int64, now time.Time) ([]Row, error) {
	return ofUnits(ctx, q, now, unitID)
}

// ofUnits is OfUnit of some units.
func ofUnits(ctx context.Context, q db.Querier, now time.Time, units ...int64) ([]Row, error) {
	b, err := readBook(ctx, q, units...)
	if err != nil {
		return nil, fmt.Errorf("read due of units %v: %w", units, err)
	}
	var list []Row
	for _, u := range b.units {
		log := b.told.Log(u.ID)
		for _, s := range b.services {
			_, done := b.served[u.ID][s.Code]
			if !done && (!s.For(u.Kind) || !s.Suits(u.Spring)) {
				continue
			}
			if row, counts := b.row(u, s, log); counts {
				row.Today = interval.Day(now, b.zone)
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
	season := SeasonOf(settings)
	var list []Next
	for _, s := range procedure.Done(services, codes) {
		if rule, ok := rules.For(s.Code, modelID); ok && rule.Counts() {
			day := interval.Day(ready, settings.Location())
			list = append(list, Next{s.Name, s.Code, rule, rule.Dates(day, season)})
		}
	}
	return list, nil
}
