package demo

import (
	"context"
	"math/rand/v2"
	"slices"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/history"
)

// found is something a mechanic finds at a step, and how it is answered once
// another step is signed; it stands where it is not.
type found struct {
	step string
	bench.Found
	after     string
	mended    string
	withdrawn string
	offer     offer
}

func seen(step, grade, words string) found {
	return found{step: step, Found: bench.Found{Grade: grade, Cause: bench.FoundSo, Words: words}}
}

// here is what happened on the bench itself.
func here(step, grade, words string) found {
	f := seen(step, grade, words)
	f.Cause = bench.HappenedHere
	return f
}

func (f found) putRight(after, words string) found {
	f.after, f.mended = after, words
	return f
}

func (f found) takenBack(after, words string) found {
	f.after, f.withdrawn = after, words
	return f
}

// pastFindings are what is found on one of five forks of the past seasons.
var pastFindings = []found{
	seen("A9", bench.FoundNote, "paint chipped at the rider’s left drop-out, an old mark"),
	seen("A7", bench.FoundWatch, "light scratch on the rider’s right stanchion, does not catch a fingernail"),
	seen("W3", bench.FoundDue, "bushing lining thin in the rider’s right leg, no play yet"),
	seen("A9", bench.FoundUnsafe, "axle two turns short of home, its thread full of grit").
		putRight("Z7", "Thread cleaned and greased; the axle turns home by hand again."),
	seen("S7", bench.FoundDue, "washers at the feet squashed flat").putRight("Z6", "New washers on both feet."),
	seen("A7", bench.FoundWatch, "dark line around the rider’s left stanchion").takenBack("S10", "It was old grease and came off with a cloth."),
	here("S6", bench.FoundNote, "slot of the rebound knob marked by the screwdriver"),
}

// findPast lets something be found on the fork, or nothing.
func findPast(t *task, r *rand.Rand) {
	if r.IntN(5) == 0 {
		t.found = []found{pick(r, pastFindings...)}
	}
}

// foundAt is what is found at a step.
func (t *task) foundAt(step bench.Step) []bench.Found {
	var list []bench.Found
	for _, f := range t.found {
		if f.step == step.Key {
			list = append(list, f.Found)
		}
	}
	return list
}

// answerFound answers what waited for a step of the press.
func (s *seeder) answerFound(a *acting, t *task, p press, at time.Time) error {
	for _, f := range t.found {
		if !slices.ContainsFunc(p, func(step bench.Step) bool { return step.Key == f.after }) {
			continue
		}
		id := t.findingID(f)
		if id == 0 {
			continue
		}
		err := a.then(s.atBench(t.mechanic), at, func(by history.By) error {
			if f.mended != "" {
				return bench.Mend(a.ctx, a.tx, by, t.id, id, f.mended)
			}
			return bench.Withdraw(a.ctx, a.tx, by, t.id, id, f.withdrawn)
		})
		if err != nil {
			return err
		}
		if err := t.hold(a); err != nil {
			return err
		}
	}
	return nil
}

// findingID is 0 where the fork has no such step.
func (t *task) findingID(f found) int64 {
	for _, had := range bench.Standing(t.held.Sheet().Findings) {
		if had.Words == f.Words {
			return had.ID
		}
	}
	return 0
}

// seeMishaps lets the owner have seen what happened here in the past seasons.
func (s *seeder) seeMishaps(ctx context.Context) error {
	at := s.clock.before(3 * openDay)
	_, err := s.act(ctx, "what happened here is seen", s.staff["Ragna"], at, func(a acting) (string, error) {
		list, err := bench.Mishaps(a.ctx, a.tx)
		for _, m := range list {
			if err = bench.See(a.ctx, a.tx, a.by, m.ID); err != nil {
				break
			}
		}
		return "", err
	})
	return err
}
