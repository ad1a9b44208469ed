package demo

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/interval"
	"damperdesk/internal/job"
)

// habit is so many rides a week of so many hours each.
func habit(rides, hours float64) interval.Said {
	return interval.Said{RidesAWeek: &rides, HoursARide: &hours}
}

// sayings are what riders said lately, dealt out to the units in turn: enough
// of them for every state of the due list, for every kind of reading and for
// two that do not agree. Some say nothing.
var sayings = [][]interval.Said{
	{},
	{stated(43)},
	{habit(1, 1)},
	{stated(52.5)},
	{},
	{in(stated(18), interval.Wet)},
	{stated(66)},
	{meterAt(412), meterAt(431)},
	{in(habit(2, 1.5), interval.Dry, interval.BikePark), computed(stated(8))},
}

// stated hours count from when the unit last left here.
func stated(hours float64) interval.Said { return interval.Said{Hours: &hours} }

// meterAt is what a bike computer shows; the first of two was read when the unit
// last left here.
func meterAt(hours float64) interval.Said { return computed(interval.Said{Meter: &hours}) }

func computed(said interval.Said) interval.Said {
	said.Source = "bike computer"
	return said
}

func in(said interval.Said, conditions ...string) interval.Said {
	said.Conditions = conditions
	return said
}

// happened is what happened to some of the units, by their place in that order.
var happened = map[int]string{3: interval.JetWash, 8: interval.Stored, 10: interval.Crash, 14: interval.New}

// rideHours writes down what riders said at the counter in the last weeks, of
// units that have been served here, and gives one model an interval of its own.
func (s *seeder) rideHours(ctx context.Context, units []*unit) error {
	models, err := s.modelIDs(ctx)
	if err != nil {
		return err
	}
	_, err = s.act(ctx, "an interval of the shop", s.staff["Ragna"], s.clock.before(5*openDay), func(a acting) (string, error) {
		return "", interval.Set(a.ctx, a.tx, a.by, interval.Rule{ServiceCode: "lower-leg", ModelID: models["Ledge"], Hours: 40, Season: true})
	})
	if err != nil {
		return err
	}
	_, err = s.act(ctx, "ride hours", s.staff["Odile"], s.clock.before(4*openDay), func(a acting) (string, error) {
		for i, u := range units {
			since, ever, err := job.LastDone(a.ctx, a.tx, u.id, zone)
			if err != nil {
				return "", err
			}
			if !ever {
				continue
			}
			if err := a.ridden(u, sayings[i%len(sayings)], since); err != nil {
				return "", fmt.Errorf("%s of %s: %w", u.model, u.owner.name, err)
			}
			if kind, ok := happened[i]; ok {
				today := interval.Day(a.by.At, zone)
				if err := interval.Happen(a.ctx, a.tx, a.by, u.id, interval.JustNow(kind, today), interval.AtDesk, today); err != nil {
					return "", fmt.Errorf("%s of %s: %w", u.model, u.owner.name, err)
				}
			}
		}
		return "", nil
	})
	return err
}

// ridden writes down what was said of a unit that was back here on a day; of two
// readings of a meter the first is of that day.
func (a acting) ridden(u *unit, list []interval.Said, since time.Time) error {
	for i, said := range list {
		switch {
		case said.Hours != nil:
			said.HoursSince = &since
		case said.Meter != nil && i == 0:
			said.MeterOn = &since
		}
		if err := interval.Say(a.ctx, a.tx, a.by, u.id, said, interval.Day(a.by.At, zone)); err != nil {
			return err
		}
	}
	return nil
}
