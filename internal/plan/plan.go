// Package plan reckons, whenever a page asks, when each job will be ready: the
// line at the bench as it stands, from what is left to do, who is there when,
// and what is waited for. It writes nothing; of a plan only the promises and
// pins are stored, by package job.
package plan

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
	"damperdesk/internal/lineup"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/stat"
	"damperdesk/internal/worktime"
)

// Plan is the line as of a moment. It is for one request: its methods share the
// hours they walk through.
type Plan struct {
	At     time.Time
	Slack  Slack  // how far the work of the past was behind what was expected
	Answer Answer // how long customers take to answer

	zone    *time.Location
	open    worktime.Calendar // of the shop
	names   map[int64]string  // of mechanics
	times   job.Times
	line    *lineup.Line
	hours   map[int64]worktime.Calendar // of mechanics
	reserve float64                     // share of their hours kept for what nobody has booked
	places  map[int64]lineup.Place
	ranks   map[int64]int // which each is in the line, from 0
	tasks   map[int64]task
	latest  map[int64]time.Time // finish that leaves the slack, of what is promised
	does    map[string][]int64  // services that not all mechanics do, and who does
	outline procedure.Outline   // of what services make units stand for
}

// Read reckons the plan of the shop as of a moment: eight questions to the
// database, whatever is open.
func Read(ctx context.Context, q db.Querier, at time.Time) (*Plan, error) {
	p, err := read(ctx, q, at)
	if err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return p, nil
}

func read(ctx context.Context, q db.Querier, at time.Time) (*Plan, error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return nil, err
	}
	p := &Plan{At: at, zone: settings.Location()}
	bench, err := shop.GetBench(ctx, q, p.day(at))
	if err != nil {
		return nil, err
	}
	if p.times, err = job.Minutes(ctx, q); err != nil {
		return nil, err
	}
	p.open = bench.Hours.Calendar(p.zone)
	sure := float64(bench.Sure) / 100
	need, err := stat.Least(sure, sureOfSlack)
	if err != nil {
		return nil, err
	}
	f, err := readFacts(ctx, q, max(outcomes, 2*need))
	if err != nil {
		return nil, err
	}
	if p.Slack, err = p.slack(sure, need, f.kept); err != nil {
		return nil, err
	}
	p.Answer, p.outline = answer(f.answers), f.outline
	pins, err := job.Pins(ctx, q)
	if err != nil {
		return nil, err
	}
	return p, p.lineUp(bench, f, pins)
}

// lineUp puts everything that is to be done in line.
func (p *Plan) lineUp(bench shop.Bench, f facts, pins map[int64]job.Pin) (err error) {
	p.names, p.tasks, p.does = map[int64]string{}, map[int64]task{}, f.notAll(bench)
	p.hours, p.reserve = map[int64]worktime.Calendar{}, float64(bench.Reserve)/100
	var who []lineup.Mechanic
	for _, m := range f.mechanics {
		p.names[m.ID] = m.Name
		one := lineup.Mechanic{ID: m.ID, Hours: bench.Calendar(m.ID, p.zone)}
		p.hours[m.ID] = one.Hours
		for code := range p.does {
			if bench.Does(m.ID, code) {
				one.Skills = append(one.Skills, code)
			}
		}
		who = append(who, one)
	}
	var jobs []lineup.Job
	for _, t := range f.tasks {
		t.more, t.holds, t.progress = f.more[t.ID], f.holds[t.ID], f.progress[t.ID]
		t.holds = p.awaited(t)
		if pin, ok := pins[t.ID]; ok {
			t.pin = &pin
		}
		if t.lapsed(p.day(p.At)) {
			continue
		}
		t.stands = p.standsOf(t)
		p.tasks[t.ID] = t
		jobs = append(jobs, p.inLine(t))
	}
	if p.line, err = lineup.New(p.At, p.reserve, who, jobs); err != nil {
		return err
	}
	p.places, p.ranks, p.latest = map[int64]lineup.Place{}, map[int64]int{}, map[int64]time.Time{}
	for i, place := range p.line.Forward() {
		p.places[place.ID], p.ranks[place.ID] = place, i
		if latest, ok := p.open.Add(place.Due, -p.Slack.For); ok {
			p.latest[place.ID] = latest
		}
	}
	return nil
}

// day is the day of a moment in the shop's zone, at midnight UTC.
func (p *Plan) day(at time.Time) time.Time {
	y, m, d := at.In(p.zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// opens is when the shop first opens on a day (at midnight UTC) or after it.
func (p *Plan) opens(day time.Time) time.Time {
	y, m, d := day.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, p.zone)
	from, _, ok := p.open.Next(midnight)
	if !ok {
		return midnight
	}
	return from
}
