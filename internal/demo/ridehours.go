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
// of them for every state of the due list. Some say nothing.
var sayings = []func(since *time.Time) interval.Said{
	func(*time.Time) interval.Said { return interval.Said{} },
	func(since *time.Time) interval.Said { return stated(43, since) },
	func(*time.Time) interval.Said { return habit(1, 1) },
	func(since *time.Time) interval.Said { return stated(52.5, since) },
	func(*time.Time) interval.Said { return interval.Said{} },
	func(since *time.Time) interval.Said { return stated(18, since) },
	func(since *time.Time) interval.Said { return stated(66, since) },
}

func stated(hours float64, since *time.Time) interval.Said {
	return interval.Said{Hours: &hours, HoursSince: since}
}

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
			said := sayings[i%len(sayings)](&since)
			if !ever || said.Nothing() {
				continue
			}
			if err := interval.Say(a.ctx, a.tx, a.by, u.id, said, interval.Day(a.by.At, zone)); err != nil {
				return "", fmt.Errorf("%s of %s: %w", u.model, u.owner.name, err)
			}
		}
		return "", nil
	})
	return err
}
