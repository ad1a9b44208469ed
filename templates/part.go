package templates

// Shape is the drawn half of a state; the words are the other half. Neither
// stands alone.
type Shape string

const (
	Disc        Shape = ""           // on time, fine, stored, note
	HalfDisc    Shape = "half"       // tight, soon, sending, keep an eye on
	Circle      Shape = "ring"       // on this tablet
	Dotted      Shape = "dash"       // unknown, no value yet
	Triangle    Shape = "peak"       // will miss, due, outside the window, needs doing
	Diamond     Shape = "gem"        // waiting on parts
	OpenDiamond Shape = "gem-open"   // waiting on customer
	Square      Shape = "block done" // ready, safe to ride
	Octagon     Shape = "stop"       // stop here, do not ride
	Arrow       Shape = "back"       // crossed out
	TwoCircles  Shape = "eyes"       // second check
)

func stateClass(shape Shape, plate bool) string {
	class := "state"
	if shape != Disc {
		class += " " + string(shape)
	}
	if plate {
		class += " plate"
	}
	return class
}
