// Package torque is the arithmetic of torque tools: what to set with an
// extension, how far off a tool may be, and whether it suits a torque. Torques
// are in N·m, deviations are shares: 0.04 is 4 %.
package torque

import (
	"fmt"
	"math"
)

// Arm is a wrench with an extension or adapter on its square. Its lengths have
// one unit, whichever.
type Arm struct {
	// Length is from the square of the wrench to the middle of its grip, where
	// the hand pulls.
	Length float64
	// Extension is from the square to the fastener; below zero it points back
	// along the handle, as at 180°.
	Extension float64
	// Angle is between the extension and the line of the handle, in degrees: 0
	// goes on in line, 90 stands across.
	Angle float64
}

// factor is by how much more torque arrives at the fastener than the wrench
// says: (L + E cos θ) / L (FAA AC 43.13-1B, 7-40; the cosine: US Army TM 9-254).
func (a Arm) factor() (float64, error) {
	switch {
	case !(a.Length > 0) || math.IsInf(a.Length, 0):
		return 0, fmt.Errorf("length of the wrench %v: it has to lie above zero", a.Length)
	case math.IsNaN(a.Extension) || math.IsInf(a.Extension, 0):
		return 0, fmt.Errorf("extension %v is no length", a.Extension)
	case !(a.Angle >= 0 && a.Angle <= 180):
		return 0, fmt.Errorf("angle %v°: it has to lie between 0 and 180", a.Angle)
	}
	along := a.Extension * cosDegrees(a.Angle)
	if along <= -a.Length {
		return 0, fmt.Errorf("extension %v reaches back to the hand or behind it, %v away: nothing is tightened so", a.Extension, a.Length)
	}
	return 1 + along/a.Length, nil
}

// cosDegrees is exact where people set an angle by eye: 0, 60, 90, 120, 180.
func cosDegrees(d float64) float64 {
	switch d {
	case 60:
		return 0.5
	case 90:
		return 0
	case 120:
		return -0.5
	}
	return math.Cos(d * math.Pi / 180)
}

// Setting is what the wrench has to be set to, or to show, for torque at the
// fastener.
func (a Arm) Setting(torque float64) (float64, error) {
	f, err := a.factor()
	if err == nil {
		err = positive("torque", torque)
	}
	if err != nil {
		return 0, err
	}
	return torque / f, nil
}

// Applied is the torque at the fastener when the wrench is set to, or shows,
// setting.
func (a Arm) Applied(setting float64) (float64, error) {
	f, err := a.factor()
	if err == nil {
		err = positive("setting", setting)
	}
	if err != nil {
		return 0, err
	}
	return setting * f, nil
}

func positive(name string, nm float64) error {
	if !(nm > 0) || math.IsInf(nm, 0) {
		return fmt.Errorf("%s %v: it has to lie above zero", name, nm)
	}
	return nil
}
