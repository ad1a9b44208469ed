package demo

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// hirer brings some seatposts of its bikes every week. Their sheets are short,
// so that half a year of them gives the review its history at little cost.
var hirer = person{name: "Netherbeck Bike Hire", phone: "020 7946 0181", mail: "bikes@netherbeck.example.org"}

const (
	hirePosts = 66
	hireWeeks = 27
	// From so many weeks ago on, work is begun a day or two sooner; in the week
	// of the broken tool nothing was.
	soonerWeeks = 11
	brokenWeek  = 17
)

// addHirer adds the customer with its seatposts.
func (s *seeder) addHirer(ctx context.Context) ([]*unit, error) {
	at := s.clock.hour(4, 11)
	hirer.forks = make([]fork, hirePosts)
	answer, err := s.act(ctx, "meet "+hirer.name, s.staff["Odile"], at, func(a acting) (string, error) {
		id, err := customer.Add(a.ctx, a.tx, a.by, customer.Details{Name: hirer.name, Phone: hirer.phone, Mail: hirer.mail})
		answer := fmt.Sprint(id)
		for n := range hirer.forks {
			if err != nil {
				return "", err
			}
			var unit int64
			unit, err = customer.AddUnit(a.ctx, a.tx, a.by, id, customer.UnitDetails{
				Kind: "seatpost", ModelWords: "dropper seatpost, 31.6 by 150", Tag: fmt.Sprintf("NB %02d", n+1), BikeWords: "hire bike"})
			answer += fmt.Sprintf(" %d", unit)
		}
		return answer, err
	})
	if err != nil {
		return nil, err
	}
	return readUnits(&hirer, answer)
}

// hireVisits are the hirer's visits, a Tuesday morning each, as far as their
// posts have been fetched by now.
func hireVisits(c clock, now time.Time, posts []*unit) []*visit {
	r := lots(1 << 21)
	var list []*visit
	next := 0
	for ago := hireWeeks; ago > 0; ago-- {
		day := c.at(tuesday(now.In(zone), ago))
		v := &visit{name: fmt.Sprintf("hire, %d weeks ago", ago), opened: c.hour(day, 10).Add(10 * time.Minute), promised: c.hour(day+3, 16)}
		for range 3 + r.IntN(3) {
			v.jobs = append(v.jobs, hireTask(c, posts[next%len(posts)], day, ago, r))
			next++
		}
		if lastLeft(v).Before(now) {
			list = append(list, v)
		}
	}
	return list
}

// tuesday is the opening of the week so many weeks ago.
func tuesday(now time.Time, ago int) time.Time {
	y, m, d := now.Date()
	back := (int(now.Weekday()) + 5) % 7 // since the last Tuesday
	return time.Date(y, m, d-back-7*ago, 10, 0, 0, 0, now.Location())
}

// hireTask dates a post: begun some opening days after it came, later where it
// waits for parts, and fetched on the Tuesday after it is ready.
func hireTask(c clock, u *unit, day, ago int, r *rand.Rand) *task {
	w := pick(r, hireWork...)
	t := &task{unit: u, symptoms: []string{job.JustDue}, done: w.done, note: w.note, hangs: "rack by the door",
		mechanic: pick(r, "Ines", "Marit", "Tobias", "Tobias"), queued: c.hour(day, 10).Add(20 * time.Minute)}
	start := day + pick(r, 2, 2, 2, 3, 3, 4)
	if ago <= soonerWeeks {
		start = day + pick(r, 1, 1, 1, 2, 2, 3, 4)
	}
	if ago == brokenWeek {
		start += 3
	}
	if r.IntN(11) == 0 {
		t.parts = &[2]time.Time{c.hour(day+1, 12), c.hour(day+5+r.IntN(3), 10)}
		start = max(start, c.at(t.parts[1]))
	}
	t.started = c.hour(start, 11).Add(time.Duration(r.IntN(16)*10) * time.Minute)
	t.finished = t.started.Add(time.Duration(25+r.IntN(20)) * time.Minute)
	fetched := day + 5
	for !c.hour(fetched, 10).After(t.finished) {
		fetched += 5
	}
	t.left = c.hour(fetched, 10).Add(20 * time.Minute)
	return t
}

var hireWork = []struct{ done, note string }{
	{"Taken down, cleaned, new bushings and seal, greased; cable end new.", "Goes up and down freely again and stays where it is put."},
	{"Collar opened, old grease out, new grease in; keys are the same size as found.", "Only dry. It needs no more than this at each turn."},
	{"Cartridge changed by the maker’s sheet, collar to the torque printed on it.", "It no longer sinks under a rider."},
	{"Lever and cable only; the post itself is fine.", "The lever had been hit. Nothing was wrong with the post."},
}

// awaitParts lets a job wait in the queue before it is begun.
func (s *seeder) awaitParts(a *acting, t *task) error {
	odile := s.staff["Odile"]
	err := a.then(odile, t.parts[0], func(by history.By) error {
		return job.Hold(a.ctx, a.tx, by, t.id, job.WaitingOnParts, "", nil)
	})
	if err != nil {
		return err
	}
	j, err := job.Get(a.ctx, a.tx, t.id)
	if err != nil {
		return err
	}
	return a.then(odile, t.parts[1], func(by history.By) error { return job.EndHold(a.ctx, a.tx, by, t.id, j.Holds[0].ID) })
}

// settleHire writes the line of a post, which has no listed price, and lets the
// hirer pay with the last one of the visit.
func (s *seeder) settleHire(a *acting, v *visit, t *task) error {
	line := fee(t, "Seatpost serviced", 3500)
	line.ServiceCode = "other"
	odile := s.staff["Odile"]
	err := a.then(odile, t.left, func(by history.By) error { return bill.AddLine(a.ctx, a.tx, by, v.id, line) })
	if err != nil || t != v.jobs[len(v.jobs)-1] {
		return err
	}
	return a.then(odile, lastLeft(v), func(by history.By) error {
		b, err := bill.Get(a.ctx, a.tx, v.id)
		if err != nil {
			return err
		}
		return bill.Pay(a.ctx, a.tx, by, v.id, bill.NewPayment{Kind: "bank transfer", Minor: b.Balance().OwedMinor()})
	})
}

// lastLeft is when the last post of a visit was fetched.
func lastLeft(v *visit) time.Time {
	return slices.MaxFunc(v.jobs, func(a, b *task) int { return a.left.Compare(b.left) }).left
}

// inTurn sorts visits as they came.
func inTurn(list []*visit) []*visit {
	return slices.SortedFunc(slices.Values(list), func(a, b *visit) int {
		return cmp.Or(a.opened.Compare(b.opened), cmp.Compare(a.jobs[0].unit.id, b.jobs[0].unit.id))
	})
}

// rounds cuts a list of visits where a unit comes again, which it cannot before
// its work is done.
func rounds(list []*visit) [][]*visit {
	var all [][]*visit
	here := map[int64]bool{}
	from := 0
	for i, v := range list {
		if slices.ContainsFunc(v.jobs, func(t *task) bool { return here[t.unit.id] }) {
			all, from = append(all, list[from:i]), i
			clear(here)
		}
		for _, t := range v.jobs {
			here[t.unit.id] = true
		}
	}
	return append(all, list[from:])
}
