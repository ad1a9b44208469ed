package torque

import "math"

// Tool is what counts of a torque tool.
type Tool struct {
	Min, Max float64 // of its scale, N·m
	Step     float64 // between two marks, N·m
	Clicks   bool    // is set to a mark and gives no reading
	Share    float64 // permissible deviation
}

// Window is where the torque has to lie. With Low not below High there is only
// the one value, as near to which as can be is near enough.
type Window struct{ Nominal, Low, High float64 }

// Reason is why a tool does not suit a torque.
type Reason int

// The reasons, the first one that holds counts.
const (
	Suits Reason = iota
	BelowScale
	AboveScale
	UnderFifth // of its largest torque
	NoMark     // between the limits of the window
	TooFarOff  // what it may be off leaves the window, whatever it is set to
)

const (
	// LeastShare: a tool is good from a fifth of its full scale up (US Army
	// TM 1-1500-204-23-9, table 8-1, which claims no accuracy below).
	LeastShare = 0.2
	// It is best between 30 and 80 % of full scale (same table).
	bestLow, bestHigh = 0.3, 0.8
	// slack forgives the binary noise of a unit conversion at a bound.
	slack = 1e-9
)

// Suit judges the tool for a torque.
func (t Tool) Suit(w Window) Reason {
	switch {
	case w.Nominal < t.Min*(1-slack):
		return BelowScale
	case w.Nominal > t.Max*(1+slack):
		return AboveScale
	case w.Nominal < LeastShare*t.Max*(1-slack):
		return UnderFifth
	case w.Low >= w.High:
		return Suits
	case t.Clicks && !t.markIn(w.Low, w.High):
		return NoMark
	case !t.canSet(within(w.Low, w.High, t.Share)):
		return TooFarOff
	}
	return Suits
}

func (t Tool) canSet(from, to float64) bool {
	if t.Clicks {
		return t.markIn(from, to)
	}
	return from <= to*(1+slack)
}

func (t Tool) markIn(low, high float64) bool {
	mark := math.Ceil(low/t.Step-slack) * t.Step
	return mark <= high*(1+slack)
}

// Keeps reports whether what arrives at the fastener stays in the window when
// the tool is set to, or shows, set.
func (t Tool) Keeps(set float64, w Window) bool {
	if w.Low >= w.High {
		return true
	}
	from, to := within(w.Low, w.High, t.Share)
	return set >= from*(1-slack) && set <= to*(1+slack)
}

// Best reports whether the torque lies where the tool is at its best.
func (t Tool) Best(torque float64) bool {
	return torque >= bestLow*t.Max*(1-slack) && torque <= bestHigh*t.Max*(1+slack)
}
