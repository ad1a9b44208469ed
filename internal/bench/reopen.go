package bench

import (
	"cmp"
	"slices"
	"strings"

	"damperdesk/internal/procedure"
)

// reopens names, for what closes the unit or lets the load on again, the steps
// that have to be done anew once the closing is undone. Common practice (no
// source).
var reopens = map[string]string{
	"Z2": "S8", "Z5": "S8", // lowers on: off again
	"Z6": "S7",                                                   // feet started: freed
	"Z9": "S6",                                                   // knob on: off
	"V2": "S5 K1", "V2.coil": "S5.coil", "V3.preload": "S5.coil", // charged: air or preload out
	"R2": "S3", "R7": "S1", "R7.lever": "S1", "R7.pinch": "S1", // in the bike: out of it
	"D1.12": "D1.2",           // damper's cap on: off
	"W4":    "W1", "W5": "W1", // wipers and foams in: out
}

// UndoneBy returns the live sign-offs that added work undoes, in the order of
// the sheet. Work inside the fork undoes its closing, what is filled through
// the closed fork, the final check and the refit; work on the bushings the new
// wipers as well; work on crown and steerer the refit and the final check; any
// other work undoes the final check; a look before washing undoes nothing. What
// was closed and is undone has its opening done again. Common practice (no
// source).
func (s Sheet) UndoneBy(added []procedure.Step) []Signoff {
	reach := reachOf(added)
	undone := map[string]bool{}
	for _, step := range s.Steps {
		if step.Done == nil || !s.undoes(reach, step) {
			continue
		}
		undone[step.Key] = true
		for opening := range strings.FieldsSeq(reopens[step.Key]) {
			undone[opening] = true
		}
	}
	var list []Signoff
	for _, step := range s.Steps {
		if undone[step.Key] {
			list = append(list, step.live()...)
		}
	}
	return list
}

// reach is how far added work goes into a fork.
type reach struct {
	proof    bool // beyond a look: what proves the fork is proved again
	bike     bool // the fork has to be out of the bike
	inside   bool // the lowers have to be off
	bushings bool // wipers and foams have to be out
	knob     bool // the knob at the foot has to be off, the lowers on
}

func reachOf(added []procedure.Step) reach {
	lowersOn := slices.ContainsFunc(added, func(a procedure.Step) bool { return a.Key == keyFootLowersOn })
	r := reach{knob: lowersOn}
	for _, a := range added {
		r.proof = r.proof || a.Block != blockInspect
		r.inside = r.inside || opensFork(a) && !(lowersOn && a.Block == "D2")
		r.bushings = r.bushings || a.Block == "U"
		r.bike = r.bike || r.inside || a.Block == "C" || a.Block == "D2"
	}
	return r
}

const (
	keyFootLowersOn = "D2.14" // only a cartridge service with the lowers on brings it
	keyKnobOn       = "Z9"
)

// undoes is whether work of that reach undoes a step that is signed.
func (s Sheet) undoes(r reach, step Step) bool {
	switch step.Block {
	case blockProve:
		return r.proof
	case "R":
		return r.bike
	case "W":
		return r.bushings && step.number() >= firstWiper
	}
	return r.inside && s.closes(step) || r.knob && step.Key == keyKnobOn
}

// firstWiper is the number of the step from which on wipers and foams go in.
const firstWiper = 4

// opensFork is whether a step can only be done with the lowers off.
func opensFork(step procedure.Step) bool {
	if step.Block == blockStrip {
		return step.Number() >= firstAtFeet
	}
	return slices.Contains([]string{"P", "D1", "D2", "U", "W"}, step.Block)
}

// firstAtFeet is the number of the step of the strip from which on the fork is
// open; the one before takes off the knob alone.
const firstAtFeet = 7

// closes is whether the step can only be done on the closed fork, or closes it.
func (s Sheet) closes(step Step) bool {
	switch step.Block {
	case "Z":
		return true
	case "D1":
		return step.number() >= firstFill && s.afterClose(step)
	}
	return false
}

// firstFill is the number of the step that fills an open-bath damper.
const firstFill = 9

// afterClose is whether the step comes after lowers that are on again, as the
// filling of a damper that shares its oil does.
func (s Sheet) afterClose(step Step) bool {
	return slices.ContainsFunc(s.Steps, func(other Step) bool { return other.Block == "Z" && other.Seq < step.Seq })
}

// lacking picks the steps whose key the sheet does not ask, each with its
// place: after the line that comes before it in the merged order, before the
// line that follows that one on the sheet. A line that is no longer asked keeps
// its place and is asked again.
func (s Sheet) lacking(merged []filled) []filled {
	rows := slices.Concat(s.Steps, s.NotAsked)
	slices.SortFunc(rows, func(a, b Step) int { return cmp.Compare(a.Rank, b.Rank) })
	var list []filled
	after, runs := -1, make([][]filled, len(rows)+1)
	for _, f := range merged {
		i := slices.IndexFunc(rows, func(step Step) bool { return step.Key == f.Key })
		if i >= 0 {
			if after = i; !rows[i].Asked {
				f.again, f.rank = rows[i].ID, rows[i].Rank
				list = append(list, f)
			}
			continue
		}
		runs[after+1] = append(runs[after+1], f)
	}
	for i, run := range runs {
		low, high := 0.0, 0.0
		if i > 0 {
			low = rows[i-1].Rank
		}
		if high = low + float64(len(run)+1); i < len(rows) {
			high = rows[i].Rank
		}
		for n, f := range run {
			f.rank = low + (high-low)*float64(n+1)/float64(len(run)+1)
			list = append(list, f)
		}
	}
	slices.SortFunc(list, func(a, b filled) int { return cmp.Compare(a.rank, b.rank) })
	return list
}
