package interval

import (
	"context"
	"time"

	"damperdesk/internal/db"
)

// Told is all that is known of the riding of units: what was said of it, what
// happened to them, and by which rules of the shop that counts.
type Told struct {
	Factors  Factors
	After    EventRules
	readings map[int64][]Reading // by unit
	events   map[int64][]Event
	riding   map[int64]Riding
	zone     *time.Location
	season   Season
	norm     Norm
}

// ReadTold reads of some units; zone and season are the shop's.
func ReadTold(ctx context.Context, q db.Querier, zone *time.Location, season Season, units ...int64) (t Told, err error) {
	t = Told{readings: map[int64][]Reading{}, events: map[int64][]Event{}, zone: zone, season: season}
	if t.Factors, err = ReadFactors(ctx, q); err != nil {
		return t, err
	}
	if t.After, err = ReadEventRules(ctx, q); err != nil {
		return t, err
	}
	if t.norm, err = ReadNorm(ctx, q, season); err != nil {
		return t, err
	}
	readings, err := Readings(ctx, q, units...)
	if err != nil {
		return t, err
	}
	for _, r := range readings {
		t.readings[r.UnitID] = append(t.readings[r.UnitID], r)
	}
	events, err := Events(ctx, q, zone, units...)
	if err != nil {
		return t, err
	}
	for _, e := range events {
		t.events[e.UnitID] = append(t.events[e.UnitID], e)
	}
	t.riding, err = readRiding(ctx, q, units)
	return t, err
}

// Log is what was said of the riding of a unit.
func (t Told) Log(unitID int64) Log {
	riding := t.riding[unitID]
	riding.Season, riding.Factors = t.season, t.Factors
	return NewLog(t.readings[unitID], t.zone, riding)
}

// LogOn is what had been said of it by the end of a day, without what was taken
// back since: a slip of the pen says nothing of how well was foretold.
func (t Told) LogOn(unitID int64, day time.Time) Log {
	var list []Reading
	for _, r := range t.readings[unitID] {
		if !Day(r.At, t.zone).After(day) {
			list = append(list, r)
		}
	}
	riding := t.riding[unitID].on(day, t.zone)
	riding.Season, riding.Factors = t.season, t.Factors
	return NewLog(list, t.zone, riding)
}

// Events is what happened to a unit, by day.
func (t Told) Events(unitID int64) []Event { return t.events[unitID] }

// Facts are what a service of a unit is judged by that was last done then, nil
// for never; log is that of the unit.
func (t Told) Facts(unitID int64, service string, served *Served, log Log) Facts {
	return Facts{Served: served, Log: log, Season: t.season, Norm: t.norm, Asks: t.After.Asks(service, t.events[unitID], served)}
}
