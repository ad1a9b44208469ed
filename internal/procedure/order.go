package procedure

// stretch is a run of steps of one block that keeps its place on the sheet. It
// goes from step number from to step number to; 0 stands for the block's end.
type stretch struct {
	block    string
	from, to int
	// when narrows the stretch to some sheets; nil is every sheet.
	when func(sheet) bool
}

// sheet is what the place of a step may depend on.
type sheet struct {
	facts     Facts
	lowersOff bool // the sheet takes the lowers off
}

func (s stretch) holds(block string, number int, on sheet) bool {
	return s.block == block && number >= s.from && (s.to == 0 || number <= s.to) && (s.when == nil || s.when(on))
}

// order is the one order in which blocks stand on a bench sheet, whatever the
// services: the first stretch that holds a step is its place.
//
// Common practice (no source), from the sequences of single services:
// creaking is listened for while the lowers still carry load; old bushings come
// out when the wipers are out and go in before the new ones; a damper that
// shares its oil with the lowers is filled once they are on and torqued; the
// air stays out until the fork has been bottomed in the frame; a foot that is
// opened with the lowers on is freed before the cartridge comes out.
var order = []stretch{
	{block: "A"},
	{block: "S", to: 5},
	{block: "C", from: 3, to: 3, when: takesLowersOff},
	{block: "S", from: 6},
	{block: "P"},
	{block: "D1", to: 8},
	{block: "D1", from: 9, when: filledBeforeLowers},
	{block: "D2", to: 1},
	{block: "D2", from: 14, to: 14},
	{block: "D2"},
	{block: "C"},
	{block: "W", to: 3},
	{block: "U"},
	{block: "W", from: 4},
	{block: "Z"},
	{block: "D1", from: 9},
	{block: "K", to: 16},
	{block: "F"},
	{block: "Q"},
	{block: "V", to: 1},
	{block: "R", to: 3},
	{block: "V", from: 2, to: 3},
	{block: "R", from: 4},
	{block: "K"},
	{block: "V", from: 4},
}

func takesLowersOff(on sheet) bool { return on.lowersOff }

// filledBeforeLowers is whether the damper surely keeps its oil to itself. One
// that is not known is filled after the lowers are on: right for both.
func filledBeforeLowers(on sheet) bool { return is(on.facts.Damper, "shared oil") == no }

// lowersOffStep is the step whose presence takes the lowers off.
const lowersOffStep = "S8"

// slot is the position of a step in the order, -1 when it has none.
func slot(s Step, on sheet) int {
	for i, st := range order {
		if st.holds(s.Block, s.Number(), on) {
			return i
		}
	}
	return -1
}
