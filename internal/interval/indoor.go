package interval

import "slices"

// indoors takes hours on a trainer off the meters that count before the stated
// hours they were said of; off those themselves, and off a meter that they were
// said of, they came as it was counted.
//
// Nobody says whether a meter runs on a trainer: a bike computer that counts the
// rear wheel or the session does, a sensor at the fork or the front wheel does
// not. So the two are compared on the days that both speak of: a meter that
// shows nearer to all the stated hours than to those outdoors ran on the trainer
// too, and they come off it by the share of those days. One that shows no more
// than half of them beyond those outdoors stood still there, and nothing comes
// off. A meter of which trainer hours were said itself is not asked.
func (l *Log) indoors() {
	counts := make([][]part, len(l.counted)) // the days that each meter counts for
	open, spoken := always, always
	for i, c := range l.counted {
		if c.Kind == Meter {
			counts[i], open = take(open, c.from, c.to)
		}
	}
	off := make([]float64, len(l.counted))
	for _, c := range l.counted {
		if c.Kind != Stated || c.from.IsZero() || c.moment() {
			continue
		}
		var held []part
		if held, spoken = take(spoken, c.from, c.to); c.IndoorHours > 0 {
			l.onTrainer(c, held, counts, off)
		}
	}
	for i, h := range off {
		c := &l.counted[i]
		c.plain -= h
		for _, n := range slices.Backward(c.uses) {
			u := &l.used[n]
			u.Trainer = min(h, u.Plain)
			u.Plain, h = u.Plain-u.Trainer, h-u.Trainer
		}
	}
}

// onTrainer adds to off what comes off each meter for the trainer hours of c on
// the days that c holds and the meters count for.
func (l *Log) onTrainer(c counted, held []part, counts [][]part, off []float64) {
	shows, of, both := 0.0, make([]float64, len(l.counted)), 0
	for i, parts := range counts {
		if m := l.counted[i]; m.IndoorHours == 0 {
			n := shared(parts, held)
			of[i] = m.plain * float64(n) / float64(max(days(m.from, m.to), 1))
			shows, both = shows+of[i], both+n
		}
	}
	share := float64(both) / float64(days(c.from, c.to))
	trainer := c.IndoorHours * share
	if shows <= c.plain*share+trainer/2 {
		return
	}
	for i, h := range of {
		off[i] += min(trainer, shows) * h / shows
	}
}

// shared counts the days that are in both.
func shared(a, b []part) int {
	n := 0
	for _, p := range b {
		held, _ := take(a, p.from, p.to)
		n += length(held)
	}
	return n
}

func length(parts []part) int {
	n := 0
	for _, p := range parts {
		n += days(p.from, p.to)
	}
	return n
}
