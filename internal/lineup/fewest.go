package lineup

import (
	"slices"
	"time"
)

// Fewest names the jobs whose promises to move so that all others hold, as few
// as can be found: by Moore and Hodgson (Moore 1968), the longest job before
// the first late one goes to the end of the line, until none is late. Then
// those that the others leave room for come back, the shortest first.
//
// With one mechanic, nothing to wait for and no rank above InLine there is no
// smaller number. With several mechanics, or jobs that come later, it is a
// heuristic. Against every way to share out and order three to seven jobs, idle
// benches included, it moved 0.07 promises too many per line of two mechanics,
// 0.03 of three, and 0.2 where half of the jobs come later, never more than
// three (TestFewestAgainstEveryWay, 600 lines of each kind).
//
// The places are those with the promises moved: whoever is named has its place
// behind all others, and is not Late there.
func (l *Line) Fewest() (move []int64, places []Place) {
	f := &fewest{Line: l, moved: map[int64]bool{}}
	for _, p := range l.Forward() {
		if p.Late() && l.hopeless(p.Job) {
			f.moved[p.ID] = true
		}
	}
	places = f.forward()
	for late := firstLate(places); late >= 0; late = firstLate(places) {
		f.moved[f.longest(places, late)] = true
		places = f.forward()
	}
	places = f.comeBack(places)
	for _, j := range l.jobs {
		if f.moved[j.ID] {
			move = append(move, j.ID)
		}
	}
	return move, places
}

type fewest struct {
	*Line
	moved map[int64]bool
}

// hopeless is a job that is late even if it is the next to be taken up.
func (l *Line) hopeless(j Job) bool {
	return j.Due.Before(l.soonest(j))
}

// forward gives the places with the moved jobs promised for no day.
func (f *fewest) forward() []Place {
	without := *f.Line
	without.jobs = slices.Clone(f.jobs)
	for i, j := range without.jobs {
		if f.moved[j.ID] {
			without.jobs[i].Due = time.Time{}
			if j.Rank != UnderWay {
				without.jobs[i].Rank = InLine
			}
		}
	}
	slices.SortFunc(without.jobs, order)
	return without.Forward()
}

// firstLate is the first in line that is late; below zero for none.
func firstLate(places []Place) int {
	return slices.IndexFunc(places, Place.Late)
}

// longest is the job to move for one that is late: of it and of those its
// mechanic begins before it, the one that takes longest, the last of equals.
// Work under way stays. The late job itself is nobody's where it never comes to
// an end, and goes.
func (f *fewest) longest(places []Place, late int) int64 {
	of := places[late]
	longest := of
	for _, p := range places {
		if of.Never() || p.By != of.By || p.Rank == UnderWay || f.moved[p.ID] || !p.Start.Before(of.Start) {
			continue
		}
		if p.Left > longest.Left {
			longest = p
		}
	}
	return longest.ID
}

// comeBack takes back what was moved where that makes nothing late.
func (f *fewest) comeBack(places []Place) []Place {
	var back []Job
	for _, j := range f.jobs {
		if f.moved[j.ID] {
			back = append(back, j)
		}
	}
	slices.SortStableFunc(back, func(a, b Job) int { return int(a.Left - b.Left) })
	for _, j := range back {
		f.moved[j.ID] = false
		if tried := f.forward(); firstLate(tried) < 0 {
			places = tried
			continue
		}
		f.moved[j.ID] = true
	}
	return places
}
