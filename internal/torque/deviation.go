package torque

import (
	"fmt"
	"math"
)

// Deviation is how far off a tool is that was set to, or showed, set while
// reference was applied: (set - reference) / reference (ISO 6789-1:2017, from
// memory). Above zero the tool says more than it does.
func Deviation(set, reference float64) (float64, error) {
	if err := positive("setting", set); err != nil {
		return 0, err
	}
	if err := positive("reference", reference); err != nil {
		return 0, err
	}
	return (set - reference) / reference, nil
}

// Span is what may arrive at the fastener by a tool that is set to, or shows,
// set and is at most share off, either way.
func Span(set, share float64) (low, high float64) { return set / (1 + share), set / (1 - share) }

// within is the settings whose Span lies between low and high; from lies above
// to where there is none.
func within(low, high, share float64) (from, to float64) {
	return low * (1 + share), high * (1 - share)
}

// Class is what ISO 6789-1:2017 calls a kind of tool. Type I indicates a torque,
// type II is set to one and lets go.
type Class struct {
	Type   string // "I" or "II"
	Letter string
}

func (c Class) String() string { return "type " + c.Type + " class " + c.Letter }

// Small is up to which largest torque, in N·m, a tool may be off by more.
const Small = 10

// Limit is the permissible deviation of a class of tools, of those whose largest
// torque is at most Small or of those above it.
type Limit struct {
	Class
	Small bool
	Share float64
}

// Limits are the permissible deviations of ISO 6789-1:2017, 5.1.5, from memory
// and not confirmed: what the certificate of a tool says comes first. Where two
// recollections differ it is the wider one.
var Limits = []Limit{
	{Class{"I", "A"}, true, 0.06}, {Class{"I", "A"}, false, 0.06},
	{Class{"I", "B"}, true, 0.04}, {Class{"I", "B"}, false, 0.04},
	{Class{"I", "C"}, true, 0.04}, {Class{"I", "C"}, false, 0.04},
	{Class{"II", "A"}, true, 0.06}, {Class{"II", "A"}, false, 0.04},
	{Class{"II", "D"}, true, 0.06}, {Class{"II", "D"}, false, 0.06},
}

// PointShares is where a tool is tried at a calibration: 20, 60 and 100 % of its
// largest torque (ISO 6789 by utmetrology.com and krafthand.de).
var PointShares = []float64{0.2, 0.6, 1}

// Point is one reading of a calibration: the tool was set to, or showed, Set
// while Reference was applied.
type Point struct{ Set, Reference float64 }

// Result is a Point judged.
type Result struct {
	Point
	Deviation float64
	Passed    bool // at most the permissible deviation off
}

// Judge judges the points of a calibration by the permissible deviation.
func Judge(points []Point, share float64) ([]Result, error) {
	if err := Permissible(share); err != nil {
		return nil, err
	}
	var list []Result
	for _, p := range points {
		d, err := Deviation(p.Set, p.Reference)
		if err != nil {
			return nil, err
		}
		list = append(list, Result{p, d, math.Abs(d) <= share*(1+slack)})
	}
	return list, nil
}

// MostShare is the largest deviation that is still one of a torque tool.
const MostShare = 0.25

// Permissible refuses what is no permissible deviation.
func Permissible(share float64) error {
	if !(share > 0 && share <= MostShare) {
		return fmt.Errorf("permissible deviation %v: it has to lie above 0 and be at most %v", share, MostShare)
	}
	return nil
}
