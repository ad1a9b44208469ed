package plan

import (
	"cmp"
	"time"
)

// Order compares two open jobs by which is to be taken up first: what can be
// worked on now comes in the order of the line, then what has to wait for
// something, the soonest over first, then what has no place in it.
func (p *Plan) Order(a, b int64) int {
	first, inLine := p.turnOf(a)
	second, alsoInLine := p.turnOf(b)
	switch {
	case !inLine && !alsoInLine:
		return 0
	case !inLine:
		return 1
	case !alsoInLine:
		return -1
	}
	return cmp.Or(first.from.Compare(second.from), cmp.Compare(first.rank, second.rank))
}

// turn is what a job goes by: from when it can be worked on, the zero time for
// now, and which it is in the line.
type turn struct {
	from time.Time
	rank int
}

func (p *Plan) turnOf(id int64) (t turn, ok bool) {
	if t.rank, ok = p.ranks[id]; ok && p.places[id].From.After(p.At) {
		t.from = p.places[id].From
	}
	return t, ok
}
