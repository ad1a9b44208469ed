package plan

import (
	"slices"
	"time"

	"damperdesk/internal/lineup"
)

// Move is a promise to move, so that the others hold.
type Move struct {
	VisitID  int64
	Jobs     []Expected // of the visit, that are not ready
	Promised time.Time
	To       time.Time // when the shop closes on the first day with room behind the others; zero: there is none
	Expected time.Time // when the last of its jobs would be ready; zero: never
}

// Broken are the jobs whose promise does not hold as the line stands, by when
// they were promised.
func (p *Plan) Broken() (list []Expected) {
	for id, place := range p.places {
		if place.Late() {
			e, _ := p.Job(id)
			list = append(list, e)
		}
	}
	slices.SortFunc(list, func(a, b Expected) int {
		if c := a.Promised.Compare(b.Promised); c != 0 {
			return c
		}
		return a.Number - b.Number
	})
	return list
}

// Fewest are the promises to move where not all can be kept: of as few jobs as
// lineup.Fewest finds, in the order of what was promised. A visit has one
// promise, so all its jobs move with it.
func (p *Plan) Fewest() (list []Move) {
	move, places := p.line.Fewest()
	finish := map[int64]time.Time{}
	for _, place := range places {
		finish[place.ID] = place.Finish
	}
	at, never := map[int64]int{}, map[int]bool{}
	for _, id := range move {
		t := p.tasks[id]
		if _, listed := at[t.VisitID]; listed {
			continue
		}
		at[t.VisitID] = len(list)
		list = append(list, Move{VisitID: t.VisitID, Promised: t.PromisedAt})
	}
	for _, place := range p.inOrder() {
		i, moves := at[p.tasks[place.ID].VisitID]
		if !moves {
			continue
		}
		e, _ := p.Job(place.ID)
		list[i].Jobs = append(list[i].Jobs, e)
		list[i].Expected = latest(list[i].Expected, finish[place.ID])
		never[i] = never[i] || finish[place.ID].IsZero()
	}
	for i := range list {
		if never[i] {
			list[i].Expected = time.Time{}
		} else if until, ok := p.open.Add(list[i].Expected, p.Slack.For); ok {
			list[i].To, _ = p.closes(p.day(until.Add(-1)))
		}
	}
	return list
}

// inOrder are the places by the number of the ticket.
func (p *Plan) inOrder() []lineup.Place {
	var list []lineup.Place
	for _, place := range p.places {
		list = append(list, place)
	}
	slices.SortFunc(list, func(a, b lineup.Place) int { return p.tasks[a.ID].Number - p.tasks[b.ID].Number })
	return list
}
