package plan

import (
	"strconv"
	"time"

	"damperdesk/internal/lineup"
	"damperdesk/internal/procedure"
)

// long is a wait in minutes that is worth a word before it has begun.
const long = 60

// stand is a wait that a job has before it.
type stand struct {
	after   float64   // share of the whole book time that comes after it
	minutes int       // 0: overnight
	from    time.Time // when it began; zero: it has not
}

// standsOf are those of the job's sheet, or before there is one of its services.
func (p *Plan) standsOf(t task) (list []stand) {
	if n := t.progress.Steps; n > 0 {
		for _, s := range t.progress.Stands {
			after := float64(n-t.progress.Signed-s.Before) / float64(n)
			list = append(list, stand{after: after, minutes: s.Minutes, from: s.From})
		}
		return list
	}
	return p.standsBefore(t.Services, t.facts())
}

func (p *Plan) standsBefore(services []string, f procedure.Facts) (list []stand) {
	for _, s := range p.outline.Pauses(services, f) {
		list = append(list, stand{after: 1 - s.Before, minutes: s.Minutes})
	}
	return list
}

// over is when a wait is over that begins at a time: overnight when the shop
// next opens on another day.
func (p *Plan) over(s stand, begun time.Time) time.Time {
	if s.minutes > 0 {
		return begun.Add(time.Duration(s.minutes) * time.Minute)
	}
	return p.opens(p.day(begun).AddDate(0, 0, 1))
}

// waitsOf are the stands as the line takes them, for work of so many minutes.
func (p *Plan) waitsOf(t task, minutes float64) (list []lineup.Wait) {
	for _, s := range t.stands {
		list = append(list, lineup.Wait{Left: inMinutes(minutes * s.after), Until: func(at time.Time) time.Time {
			if s.from.IsZero() {
				return p.over(s, at)
			}
			return latest(at, p.over(s, s.from))
		}})
	}
	return list
}

// isStanding is whether somebody has begun it and it stands now, for which there
// is nothing to do.
func (p *Plan) isStanding(t task) bool {
	if !t.underWay() || len(t.stands) == 0 || len(t.progress.Stands) == 0 {
		return false
	}
	first := t.stands[0]
	return t.progress.Stands[0].Before == 0 && !first.from.IsZero() && p.over(first, first.from).After(p.At)
}

// standWords says until when a job stands, of its longest wait; empty for one
// that is short and has not begun.
func (p *Plan) standWords(t task, place lineup.Place) string {
	words, longest := "", 0
	for i, s := range t.stands {
		if i >= len(place.Back) {
			break
		}
		minutes, how := s.minutes, "stands until "
		switch {
		case minutes == 0:
			minutes, how = 24*60, "stands overnight until "
		case s.from.IsZero():
			how = "stands " + lengthWords(minutes) + ", until "
		}
		running := i == 0 && p.isStanding(t)
		if minutes > longest && (running || minutes >= long) {
			words, longest = how+p.momentWords(place.Back[i]), minutes
		}
	}
	return words
}

func lengthWords(minutes int) string {
	if minutes%60 == 0 {
		return strconv.Itoa(minutes/60) + " h"
	}
	return strconv.Itoa(minutes) + " min"
}

// momentWords is a time with its day, where that is not today.
func (p *Plan) momentWords(at time.Time) string {
	clock := at.In(p.zone).Format("15:04")
	if p.day(at).Equal(p.day(p.At)) {
		return clock
	}
	return p.DayWords(p.day(at)) + " " + clock
}
