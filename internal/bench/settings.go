package bench

import (
	"context"
	"strings"

	"damperdesk/internal/db"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// Setting is one adjustment of the unit as it came and as it goes back. A side
// is nil while it is not signed; the unit is that of the sign-off, none for
// clicks.
type Setting struct {
	Key      string // "pressure" or the adjuster, such as "rebound"
	Name     string
	Step     string // the key of the step that puts it back
	Form     string // what is counted: "clicks", "turns", "positions"; empty for a pressure
	Received *Signoff
	Returned *Signoff
}

// Settled reports whether the setting was put back with a value, or does not
// apply.
func (s Setting) Settled() bool {
	return s.Returned != nil && s.Returned.Outcome != OutcomeUnknown
}

// Settings pairs the sign-offs of the drop-off inspection with those of the
// final check, pressure first.
func (s Sheet) Settings() []Setting {
	var list []Setting
	for _, out := range s.Steps {
		in, name := "", ""
		if out.Key == keyPressureOut {
			in, name = keyPressureIn, "pressure"
		} else if adjuster, ok := strings.CutPrefix(out.Key, keyAdjusterOut); ok {
			in, name = keyAdjusterIn+adjuster, adjuster
		} else {
			continue
		}
		counted, _ := spec.Find(out.SpecKey)
		set := Setting{Key: name, Step: out.Key, Form: counted.Form, Name: strings.ToUpper(name[:1]) + name[1:], Returned: out.Done}
		if step := s.ByKey(in); step != nil {
			set.Received = step.Done
		}
		list = append(list, set)
	}
	return list
}

// PressureBack is the air pressure in Pa that the unit was set to; ok is false
// where none was signed.
func (s Sheet) PressureBack() (pa float64, ok bool) {
	for _, set := range s.Settings() {
		if set.Key == "pressure" && set.Returned != nil && set.Returned.ValueSI != nil && *set.Returned.ValueSI > 0 {
			return *set.Returned.ValueSI, true
		}
	}
	return 0, false
}

// Settings reads the settings of a job as received beside as returned.
func Settings(ctx context.Context, q db.Querier, jobID int64) ([]Setting, error) {
	sheet, err := Get(ctx, q, jobID)
	if err != nil {
		return nil, err
	}
	return sheet.Settings(), nil
}

// Measured returns the steps whose live sign-off states a torque, an amount, a
// reading, a grade or words, settings left out, in the order of the sheet.
func (s Sheet) Measured() []Step {
	var list []Step
	for _, step := range s.Steps {
		setting := step.Key == keyPressureIn || step.Key == keyPressureOut ||
			strings.HasPrefix(step.Key, keyAdjusterIn) || strings.HasPrefix(step.Key, keyAdjusterOut)
		if step.Done == nil || step.Done.Outcome != OutcomeDone || setting {
			continue
		}
		if step.Kind == procedure.Torque || step.Done.ValueSI != nil || step.Done.Count != nil || step.Done.Grade != "" || step.InWords() {
			list = append(list, step)
		}
	}
	return list
}

// Measured reads what was measured and set on a job, for the customer's page.
func Measured(ctx context.Context, q db.Querier, jobID int64) ([]Step, error) {
	sheet, err := Get(ctx, q, jobID)
	if err != nil {
		return nil, err
	}
	return sheet.Measured(), nil
}

// Verdict is the mechanic's word on riding, from the final check; empty until
// it is signed.
func (s Sheet) Verdict() string {
	if step := s.ByKey(keyNote); step != nil && step.Done != nil {
		return step.Done.Grade
	}
	return ""
}
