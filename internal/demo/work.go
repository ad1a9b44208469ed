package demo

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// numbered reads the ids of the jobs from the answer of the visit's act.
func (v *visit) numbered(answer string) error {
	var id int64
	words := strings.Fields(answer)
	if len(words) != len(v.jobs)+1 {
		return fmt.Errorf("%s has %d jobs, not those of %q", v.name, len(v.jobs), answer)
	}
	if _, err := fmt.Sscan(words[0], &id); err != nil {
		return err
	}
	v.id = id
	for i, t := range v.jobs {
		if _, err := fmt.Sscan(words[i+1], &t.id); err != nil {
			return err
		}
		t.r = lots(uint64(t.id))
	}
	return nil
}

// finish works on every job of a visit and hands it over.
func (s *seeder) finish(ctx context.Context, v *visit) error {
	for i, t := range v.jobs {
		_, err := s.act(ctx, fmt.Sprintf("%s, job %d", v.name, i+1), s.staff[t.mechanic], t.queued, func(a acting) (string, error) {
			return "", s.workOn(&a, v, t)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// workOn does what becomes of a job after drop-off, as far as it is planned.
func (s *seeder) workOn(a *acting, v *visit, t *task) error {
	odile, who := s.staff["Odile"], s.atBench(t.mechanic)
	if t.queued.IsZero() {
		return nil
	}
	err := a.then(odile, t.queued, func(by history.By) error { return job.Move(a.ctx, a.tx, by, t.id, job.InQueue, "") })
	if err == nil && t.parts != nil {
		err = s.awaitParts(a, t)
	}
	if err != nil || t.started.IsZero() {
		return err
	}
	if t.ending != "" {
		err := a.then(odile, t.left, func(by history.By) error {
			return job.Cancel(a.ctx, a.tx, by, t.id, t.ending, "Agreed by phone.")
		})
		if err != nil {
			return err
		}
		return s.settle(a, v, t)
	}
	if err := a.then(who, t.started, func(by history.By) error { return bench.Start(a.ctx, a.tx, by, t.id) }); err != nil {
		return err
	}
	if err := s.sign(a, t); err != nil || t.until != "" {
		return err
	}
	return s.handBack(a, v, t)
}

// handBack ends the work: the note, ready, hand-over; the last of a visit is paid.
func (s *seeder) handBack(a *acting, v *visit, t *task) error {
	ready := t.finished.Add(2 * time.Minute)
	err := a.then(s.atBench(t.mechanic), ready, func(by history.By) error {
		return errors.Join(
			job.SetRiderNote(a.ctx, a.tx, by, t.id, t.note),
			t.held.MakeReady(a.ctx, a.tx, by))
	})
	if err != nil || t.left.IsZero() {
		return err
	}
	last := t == v.jobs[len(v.jobs)-1]
	if v.back == "post" {
		return s.sendBack(a, v, t, last)
	}
	err = a.then(s.staff["Odile"], t.left, func(by history.By) error { return job.HandOver(a.ctx, a.tx, by, t.id, "") })
	if err != nil || !last {
		return err
	}
	return s.settle(a, v, t)
}

// sendBack posts a job; the last of a visit is paid before it goes.
func (s *seeder) sendBack(a *acting, v *visit, t *task, last bool) error {
	parcel := job.Parcel{Carrier: "Hillfoot Parcels", Tracking: fmt.Sprintf("HP%d", 7000+t.id), AirOut: true}
	if last {
		if err := s.settle(a, v, t); err != nil {
			return err
		}
	} else {
		parcel.Unpaid = "The visit is paid when the last of it goes."
	}
	return a.then(s.staff["Odile"], t.left, func(by history.By) error { return bill.SendBack(a.ctx, a.tx, by, t.id, parcel) })
}

// press is what one press of the button signs.
type press []bench.Step

// presses are the steps up to the first one that is left open. What may share
// a press does: the lines of a group or, for whoever is used to it, of a block
// up to where something has to stand and wait.
func presses(steps []bench.Step, until string, wide bool) []press {
	if i := slices.IndexFunc(steps, func(s bench.Step) bool { return s.Key == until }); i >= 0 {
		steps = steps[:i]
	}
	var list []press
	for _, s := range steps {
		if n := len(list) - 1; n >= 0 && list[n].takes(s, wide) {
			list[n] = append(list[n], s)
			continue
		}
		list = append(list, press{s})
	}
	return list
}

func (p press) takes(s bench.Step, wide bool) bool {
	if !s.Simple() || !p[0].Simple() || s.Block != p[0].Block || len(p) == bench.MostTogether {
		return false
	}
	return s.Group != "" && s.Group == p[0].Group || wide && s.Kind != procedure.Wait
}

// sign signs the sheet as far as it is planned.
func (s *seeder) sign(a *acting, t *task) error {
	if err := t.hold(a); err != nil {
		return err
	}
	settings := t.settings()
	list := presses(t.held.Sheet().Steps, t.until, t.ago == nil)
	for i, at := range s.moments(t, list) {
		if err := s.picturesAt(a, t, list[i], at); err != nil {
			return err
		}
		if err := s.signPress(a, t, list[i], at, settings); err != nil {
			return err
		}
		if err := s.answerFound(a, t, list[i], at); err != nil {
			return err
		}
	}
	return nil
}

// moments are those of the presses. Where something has to stand a while, what
// comes before is done that much sooner.
func (s *seeder) moments(t *task, list []press) []time.Time {
	times := make([]time.Time, len(list))
	first := t.beforeNight(list)
	for i, p := range list {
		times[i] = s.moment(t, i+1, first, len(list))
		if i == 0 {
			continue
		}
		start, stands := s.moment(t, 0, first, len(list)), time.Duration(p[0].Minutes)*time.Minute
		if over := times[i-1].Add(stands).Sub(times[i]); over > 0 {
			share := 1 - float64(over)/float64(times[i-1].Sub(start))
			for j := range i {
				times[j] = start.Add(time.Duration(share * float64(times[j].Sub(start))))
			}
		}
	}
	return times
}

// moment is that of press i of n: evenly spread from start to end, recent ones
// over the hours the shop was open. Before a night of standing come the first
// ones, up to the evening.
func (s *seeder) moment(t *task, i, first, n int) time.Time {
	spread := func(from, to time.Time, i, n int) time.Time {
		return from.Add(to.Sub(from) * time.Duration(i) / time.Duration(n))
	}
	switch {
	case t.ago != nil:
		return s.clock.before(t.ago.from - (t.ago.from-t.ago.to)*time.Duration(i)/time.Duration(n))
	case first == n:
		return spread(t.started, t.finished, i, n)
	case i <= first:
		return spread(t.started, t.evening, i, first)
	}
	return spread(t.finished.Add(-lastLook), t.finished, i-first, n-first)
}

const (
	keyOvernight = "V4.overnight"   // waits for the next opening day
	lastLook     = 15 * time.Minute // from the reading of that morning on
)

// beforeNight is how many presses come before the night.
func (t *task) beforeNight(list []press) int {
	i := slices.IndexFunc(list, func(p press) bool { return p[0].Key == keyOvernight })
	if i < 0 || t.evening.IsZero() {
		return len(list)
	}
	return i
}
