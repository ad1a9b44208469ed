package demo

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// openDay is how long the shop is open on most days.
const openDay = 8 * time.Hour

// wait is a hold of an open job.
type wait struct {
	kind, tray string
	since      time.Duration // in opening time before now
	expected   *int          // opening days ahead, nil for not known
}

// open is a visit that is on the board: whose fork, since when, by when, and
// how far it has come.
type open struct {
	owner, model string
	service      string // empty: what the complaint asks for
	symptom      string
	words        string
	mechanic     string
	hangs        string
	came         string
	dropped      time.Duration // in opening time before now
	promised     func(clock) time.Time
	queued       bool
	bench        *ago
	until        string
	flaws        flaws
	found        []found
	note         string
	whole        bool
	waits        []wait
}

func within(d time.Duration) func(clock) time.Time {
	return func(c clock) time.Time { return c.after(d) }
}

func onDay(n, hour int) func(clock) time.Time {
	return func(c clock) time.Time { return c.day(n, hour) }
}

func days(n int) *int { return &n }

// board is what stands on the board, all stages and all waits, with some late
// and some tight.
var board = []open{
	{owner: "Jonas Whitcombe", model: "Apsis", symptom: losesAir, words: "Flat every morning, and down in its travel by noon.", mechanic: "Tobias", hangs: "hook 1",
		dropped: 4 * openDay, promised: onDay(-1, 17), queued: true, bench: &ago{11 * time.Hour, 10 * time.Hour}, until: "P6",
		found: []found{seen("P5", bench.FoundDue, "groove of the air piston’s seal is nicked, a new seal would not hold in it").proposed("new air piston with its seal", 8500, 30).partsIn(2).asksCall("after five, 07700 900 131")},
		waits: []wait{{job.WaitingOnParts, "tray 4", 10 * time.Hour, days(2)}}},
	{owner: "Sanne Whitlow", model: "Kelp", symptom: "oil", words: "Oil on the left leg, more after every ride.", mechanic: "Marit", hangs: "hook 2",
		dropped: 3 * openDay, promised: onDay(-1, 16), queued: true, bench: &ago{95 * time.Minute, 15 * time.Minute}, until: "Z4", flaws: flaws{crossed: true},
		found: []found{
			seen("A9", bench.FoundDue, "rider’s left wiper is nicked and weeps there").proposed("new wipers and foams", 2600, 15).answered("yes").onPage(),
			seen("A7", bench.FoundWatch, "scratch down the rider’s left stanchion").takenBack("S10", "It was a hair in the oil; nothing is left after wiping."),
		}},
	{owner: "Priya Castellan", model: "Berm", symptom: "harsh", words: "Feels like riding on a plank.", mechanic: "Tobias", hangs: "hook 3", whole: true,
		dropped: 2 * openDay, promised: within(50 * time.Minute), queued: true, bench: &ago{100 * time.Minute, 6 * time.Minute}, until: "V2", flaws: flaws{outside: true},
		found: []found{
			seen("A9", bench.FoundUnsafe, "front axle two turns short of home, its thread full of grit"),
			seen("A7", bench.FoundWatch, "coating of the rider’s right stanchion thin below the crown").proposed("new crown, steerer and stanchions", 21_000, 60).answered("no"),
		}},
	{owner: "Kofi Lindgren", model: "Apsis", symptom: losesAir, words: "Flat by the weekend.", mechanic: "Marit", hangs: "shelf B",
		dropped: 2 * openDay, promised: within(100 * time.Minute), queued: true},
	{owner: "Mirela Anttonen", model: "Sill", symptom: "sticky", words: "Sticks at the top after standing, then moves with a jerk.", mechanic: "Ines", hangs: "hook 4",
		dropped: 2 * openDay, promised: within(165 * time.Minute), queued: true, bench: &ago{58 * time.Minute, 2 * time.Minute}, until: "Z7"},
	{owner: "Hanne Byrd", model: "Lode", symptom: job.JustDue, mechanic: "Ines", hangs: "ready rack",
		dropped: 3 * openDay, promised: within(170 * time.Minute), queued: true, bench: &ago{250 * time.Minute, 175 * time.Minute},
		found: []found{
			seen("A9", bench.FoundNote, "paint chipped at the rider’s left drop-out, an old mark"),
			seen("A9", bench.FoundUnsafe, "rider’s left foot bolt a full turn loose").putRight("Z8", "New washers, both foot bolts torqued."),
		},
		note: "Lower legs cleaned and oiled, foams new. Your settings are back where they were. Check the pressure before the first ride."},
	{owner: "Tomás Ellery", model: "Sill", symptom: "knocks", words: "Knocks when braking on the road.", mechanic: "Tobias", hangs: "hook 5",
		dropped: 3 * openDay, promised: within(4 * time.Hour), queued: true, waits: []wait{{job.WaitingOnCustomer, "", 9 * time.Hour, nil}}},
	{owner: "Wren Abara", model: "Apsis", symptom: "tops-out", words: "Clunk when the wheel comes up.", mechanic: "Ines", hangs: "shelf C",
		dropped: 14 * time.Hour, promised: onDay(1, 10), queued: true},
	{owner: "Sunil Hartley", model: "Berm", symptom: "stuck-down", words: "Sank over the winter and stays down.", mechanic: "Ines", hangs: "floor, behind the screen", whole: true,
		dropped: 12 * time.Hour, promised: onDay(1, 12), queued: true},
	{owner: "Beatrix Nowak", model: "Kelp", symptom: "rebound", words: "Rebound knob turns round and round.", mechanic: "Tobias", hangs: "hook 6", whole: true,
		dropped: 11 * time.Hour, promised: onDay(1, 16), queued: true, bench: &ago{160 * time.Minute, 110 * time.Minute}, until: "V4", flaws: flaws{unchecked: true},
		found: []found{here("S3", bench.FoundNote, "thumbnail of paint off the arch, from the work stand")}},
	{owner: "Eero Vance", model: "Ledge", symptom: "blows-through", words: "Through its travel on everything.", mechanic: "Marit", hangs: "shelf D",
		dropped: 10 * time.Hour, promised: onDay(1, 17), queued: true, waits: []wait{{job.WaitingOnParts, "tray 2", 6 * time.Hour, days(1)}}},
	{owner: "Farida Holm", model: "Apsis", symptom: "harsh", words: "Harsh over roots.", mechanic: "Ines", hangs: "shelf D",
		dropped: 9 * time.Hour, promised: onDay(2, 12), queued: true},
	{owner: "Callum Reyes", model: "Berm", symptom: "dives", words: "Dives into corners.", hangs: "shelf E",
		dropped: 7 * time.Hour, promised: onDay(2, 17), queued: true},
	{owner: "Lowri Fenwick", model: "rear shock", symptom: losesAir, words: "Loses air within a ride; please have a look inside.", hangs: "tray 7",
		dropped: 20 * time.Hour, promised: onDay(5, 17), came: "post", waits: []wait{{job.SentOut, "", 16 * time.Hour, days(4)}}},
	{owner: "Petra Lindqvist", model: "Perigee", service: "damper", symptom: "rebound", words: "Comes back faster than it used to.", mechanic: "Marit", hangs: "hook 7",
		dropped: 22 * time.Hour, promised: onDay(-1, 17), queued: true, bench: &ago{200 * time.Minute, 120 * time.Minute}, until: "D1.9"},
	{owner: "Joss Marlow", model: "Sill", service: "full", symptom: job.JustDue, mechanic: "Tobias", hangs: "hook 8",
		dropped: 21 * time.Hour, promised: onDay(1, 15), queued: true, bench: &ago{230 * time.Minute, 130 * time.Minute}, until: "D2.7"},
	{owner: "Bettina Orr", model: "Kelp", service: "full", symptom: job.JustDue, mechanic: "Ines", hangs: "shelf F",
		dropped: 19 * time.Hour, promised: onDay(2, 16), queued: true},
	{owner: "Rosalind Tate", model: "Swale", service: "air-can", symptom: "harsh", words: "Feels dead over small bumps.", mechanic: "Ines", hangs: "tray 8",
		dropped: 18 * time.Hour, promised: onDay(2, 11), queued: true, bench: &ago{210 * time.Minute, 180 * time.Minute}, until: "K10"},
	{owner: "Noor Ashby", model: "Lode", symptom: "travel-short", words: "Does not use all of its travel any more.", hangs: "counter",
		dropped: 30 * time.Minute, promised: onDay(2, 17)},
}

// today puts the open visits on the board, in the order they were dropped off,
// and says which two to look at.
func (s *seeder) today(ctx context.Context, units []*unit) (string, error) {
	visits := map[string]*visit{}
	for _, o := range inOrder(board) {
		v := o.visit(s, units)
		if err := s.takeIn(ctx, v); err != nil {
			return "", err
		}
		if err := s.goOn(ctx, v, o); err != nil {
			return "", err
		}
		if err := s.writeBill(ctx, v, o.owner); err != nil {
			return "", err
		}
		visits[o.owner] = v
	}
	if err := s.atCounter(ctx, units); err != nil {
		return "", err
	}
	if err := s.tellPast(ctx); err != nil {
		return "", err
	}
	answer := fmt.Sprintf("job %d, visit %d", visits["Mirela Anttonen"].jobs[0].id, visits["Hanne Byrd"].id)
	return s.act(ctx, actFinish, program, s.now, func(acting) (string, error) { return answer, nil })
}

func (o open) visit(s *seeder, units []*unit) *visit {
	t := &task{unit: unitOf(units, o.owner, o.model), wants: o.service, symptoms: []string{o.symptom}, complaint: o.words, hangs: o.hangs, mechanic: o.mechanic, whole: o.whole,
		riding: "trails", said: habit(2, 1.5), ago: o.bench, until: o.until, flaws: o.flaws, found: slices.Clone(o.found), note: o.note}
	v := &visit{name: "open visit of " + o.owner, opened: s.clock.before(o.dropped), promised: o.promised(s.clock), came: o.came, jobs: []*task{t}}
	if o.queued {
		t.queued = s.clock.before(o.dropped - min(o.dropped, 10*time.Minute))
	}
	if o.bench != nil {
		t.started, t.finished = s.clock.before(o.bench.from), s.clock.before(o.bench.to)
	}
	return v
}

// goOn works on an open job as far as it has come, and lets it wait.
func (s *seeder) goOn(ctx context.Context, v *visit, o open) error {
	t := v.jobs[0]
	who := s.staff["Odile"]
	if o.bench != nil {
		who = s.staff[o.mechanic]
	}
	_, err := s.act(ctx, v.name+", work", who, v.opened, func(a acting) (string, error) {
		if err := s.workOn(&a, v, t); err != nil {
			return "", err
		}
		if o.bench != nil {
			if err := s.proposeFound(&a, t, o.found); err != nil {
				return "", err
			}
		}
		for _, w := range o.waits {
			err := a.then(who, s.clock.before(w.since), func(by history.By) error {
				return job.Hold(a.ctx, a.tx, by, t.id, w.kind, w.tray, s.inDays(w.expected))
			})
			if err != nil {
				return "", err
			}
		}
		return "", nil
	})
	return err
}

// inDays is the day in so many opening days, at midnight UTC; nil for none.
func (s *seeder) inDays(n *int) *time.Time {
	if n == nil {
		return nil
	}
	y, m, d := s.clock.day(*n, 12).Date()
	day := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	return &day
}

// inOrder sorts by drop-off, the earliest first.
func inOrder(list []open) []open {
	return slices.SortedFunc(slices.Values(list), func(a, b open) int { return cmp.Compare(b.dropped, a.dropped) })
}
