package plan

import (
	"time"
)

// Week is what the bench has to do in one week.
type Week struct {
	From  time.Time     // its Monday, midnight in the shop's zone
	There time.Duration // hours somebody is at the bench, of those still to come
	Kept  time.Duration // of them, the part kept for what nobody has booked
	Taken time.Duration // work that stands in line or is booked
}

// Free is what is left for work that nobody has asked for yet.
func (w Week) Free() time.Duration { return max(w.There-w.Kept-w.Taken, 0) }

// Weeks are the present week and those after it, n in all. The work of a job
// falls into the weeks between its beginning and its end, by the hours its
// mechanic has in each. What nobody can ever do is in none of them.
func (p *Plan) Weeks(n int) []Week {
	day := p.day(p.At)
	monday := day.AddDate(0, 0, -(int(day.Weekday())+6)%7)
	weeks := make([]Week, n)
	for i := range weeks {
		w := &weeks[i]
		w.From = p.clock(monday.AddDate(0, 0, 7*i), 0)
		from, to := latest(w.From, p.At), p.clock(monday.AddDate(0, 0, 7*i+7), 0)
		for _, hours := range p.hours {
			w.There += hours.Between(from, to)
		}
		w.Kept = time.Duration(p.reserve * float64(w.There))
		for _, place := range p.places {
			if place.Never() {
				continue
			}
			hours := p.hours[place.By]
			whole := hours.Between(place.Start, place.Finish)
			if part := hours.Between(latest(place.Start, from), earliest(place.Finish, to)); whole > 0 && part > 0 {
				w.Taken += time.Duration(float64(place.Left) * float64(part) / float64(whole))
			}
		}
	}
	return weeks
}

func earliest(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}
