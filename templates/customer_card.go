package templates

import (
	"slices"

	"damperdesk/internal/bench"
	"damperdesk/internal/summary"
)

// hasCard says whether a unit left with a setting that is worth carrying.
func (p CustomerPage) hasCard(u summary.Unit) bool {
	return ready(u.Job) && slices.ContainsFunc(u.Sheet.Settings(), setBack)
}

// HasCard says whether any unit of the visit has one.
func (p CustomerPage) HasCard() bool { return slices.ContainsFunc(p.Units, p.hasCard) }

// setBack says whether a setting left with a value.
func setBack(s bench.Setting) bool {
	return s.Returned != nil && s.Returned.Outcome == bench.OutcomeDone
}

type cardRow struct{ term, words string }

// cardRows are the settings as they left, then what they belong to.
func (p CustomerPage) cardRows(u summary.Unit) []cardRow {
	var rows []cardRow
	for _, s := range u.Sheet.Settings() {
		if setBack(s) {
			rows = append(rows, cardRow{settingName(s), settingText(p.Base, s.Returned)})
		}
	}
	for _, more := range onCard {
		if s := lastOf(u, more[0]); s != nil {
			rows = append(rows, cardRow{more[1], measuredText(p.Base, *s)})
		}
	}
	if u.Job.RiderKG != nil {
		rows = append(rows, cardRow{textRider, p.Prefs.Mass(*u.Job.RiderKG)})
	}
	return rows
}

// lastOf is the last step that says how much of something the unit left with; nil where
// none was signed.
func lastOf(u summary.Unit, key string) *bench.Step {
	for _, s := range slices.Backward(u.Sheet.Steps) {
		if s.SpecKey == key && s.Done != nil && s.Done.Outcome == bench.OutcomeDone && (s.Done.Count != nil || s.Done.ValueSI != nil) {
			return &s
		}
	}
	return nil
}

func (p CustomerPage) carded() Base {
	b := p.Base
	b.Title = textCardTitle + ", " + p.numbers()
	return b
}

func (p CustomerPage) cardShop() string { return listed(p.Summary.Shop.Name, p.Summary.Shop.Phone) }
