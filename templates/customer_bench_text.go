package templates

import (
	"cmp"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/book"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/summary"
)

// What a customer reads of the bench: settings, what was measured, and what to look at
// around the first ride.

const (
	textSettings  = "Your settings"
	textCameWith  = "came with"
	textLeftWith  = "left with"
	textToCard    = "Print a card for the pocket"
	textCardHint  = "For the pocket, 85 × 54 mm, one for each unit."
	textCardTitle = "Settings card"
	textPrint     = "Print"
	textBack      = "Back to the page"
	textRider     = "Rider with kit"
	textMeasured  = "What we did and measured"
	textRecord    = "Bench record: torques and tools"
	textDoNotRide = "Do not ride"
)

// onCard are the spec keys of what the card has beside the settings, with their names.
var onCard = [][2]string{{"volume spacers", "Volume spacers"}, {"sag", "Sag"}}

func windowText(window string) string { return "from " + window }

func gradeText(grade string, at, of int) string {
	return grade + ", " + num(at) + " of " + num(of) + " grades"
}

// settingsText says whether the settings are back as they came, or which were changed
// and why.
func settingsText(b Base, u summary.Unit) string {
	var changed, why []string
	compared := 0
	for _, s := range u.Sheet.Settings() {
		if s.Received == nil || s.Returned == nil || s.Received.Outcome != bench.OutcomeDone || s.Returned.Outcome != bench.OutcomeDone {
			continue
		}
		compared++
		if settingText(b, s.Received) == settingText(b, s.Returned) {
			continue
		}
		name, _, _ := strings.Cut(lowerFirst(settingName(s)), ",")
		changed = append(changed, name)
		if s.Returned.Reason != "" {
			why = append(why, name+": "+s.Returned.Reason)
		}
	}
	switch {
	case compared == 0:
		return ""
	case len(changed) == 0:
		return "Back as they came."
	}
	text := "Changed: " + joined(changed) + ". "
	switch {
	case len(why) > 0:
		return text + "Why: " + strings.Join(why, "; ") + "."
	case u.Job.RiderNote != "":
		return text + "Why stands in the note above."
	}
	return text + "Ask us why."
}

// settingText is one side of the settings card.
func settingText(b Base, s *bench.Signoff) string {
	switch {
	case s == nil:
		return "not taken"
	case s.Outcome == bench.OutcomeUnknown:
		return "unknown"
	case s.Outcome == bench.OutcomeNot:
		return "has none"
	case s.ValueSI != nil && s.ShownUnit.Kind() == quantity.KindPressure && *s.ValueSI == 0:
		return "empty"
	case s.ValueSI != nil:
		return b.Prefs.Quantity(s.ShownUnit.Kind(), *s.ValueSI)
	case s.Grade != "":
		return s.Grade
	case s.Count != nil:
		return b.count(*s.Count)
	}
	return s.Grade
}

func settingName(s bench.Setting) string {
	switch {
	case s.Key == "pressure":
		return "Air"
	case s.Form == "positions":
		return s.Name + ", position"
	}
	return s.Name + ", " + cmp.Or(s.Form, "clicks")
}

// rideText is what to look at around the first ride, and when not to ride, for
// a kind of unit. Common practice (no source).
type rideText struct {
	before, after []string
	not           string
}

var rideTexts = map[string]rideText{
	"fork": {
		before: []string{
			"Axle tight, brake lever bites where it used to.",
			"Push the bar down hard five times: smooth, no knock.",
			"A faint wet ring on the stanchion is normal today.",
		},
		after: []string{"No oil at the feet or on the stanchions."},
		not:   "a fork that knocks, leaks or loses pressure. Ring us instead.",
	},
	"rear shock": {
		before: []string{
			"Both shock bolts tight, nothing rubs when you sit down hard.",
			"Five hard pushes on the saddle: smooth, no knock.",
			"A faint wet ring on the shaft is normal today.",
		},
		after: []string{"No oil on the shaft or around its seal."},
		not:   "a shock that knocks, leaks or loses pressure. Ring us instead.",
	},
	"seatpost": {
		before: []string{
			"Seat clamp and saddle bolts tight, the post not out past its mark.",
			"Push it down and let it up five times: smooth, no knock.",
		},
		after: []string{"Nothing has come loose, no new play, no oil on the post."},
		not:   "a post that slips, knocks or leaks. Ring us instead.",
	},
}

// firstCourses are the steps that riders ask about first; their names are below.
var firstCourses = []string{book.PressureIn, "A6", "U1", "A7", "S9.left", "S9.right", "V4.overnight"}

// measuredNames is what customers read instead of the bench’s step titles.
var measuredNames = map[string]string{
	"A6":           "Bushing play, three heights",
	"A7":           "Stanchions as they came",
	"A8":           "Crown and steerer",
	"A10":          "Travel and adjusters as they came",
	"A11":          "Your complaint, tried here",
	"S9.left":      "Old oil, rider’s left",
	"S9.right":     "Old oil, rider’s right",
	"S10":          "Stanchions, cleaned",
	"P2":           "Volume spacers as they came",
	"P5.coil":      "Coil rate",
	"P6":           "Air-spring seals",
	"P9":           "Oil, air side",
	"P10":          "Volume spacers",
	"P11":          "Top cap",
	"P11.small":    "Top cap",
	"P12":          "Air held under test",
	"D1.3":         "Old oil, damper",
	"D1.6":         "Damper seals",
	"D1.9":         "Oil, damper leg",
	"D1.9.sealed":  "Oil, damper leg",
	"D1.11":        "Oil height, damper leg",
	"D1.7":         "Damper seal head",
	"D1.12":        "Damper cap",
	"D1.7.shaft":   "Damper piston or shaft",
	"D2.3":         "Old fluid, cartridge",
	"D2.5":         "Seals, cartridge",
	"D2.6":         "Cartridge piston or shaft",
	"D2.7":         "Fluid, cartridge",
	"D2.9":         "Floating piston’s depth",
	"D2.10":        "Cartridge seal head",
	"D2.10.bleed":  "Bleed screw",
	"D2.11":        "Gas, cartridge",
	"D2.13":        "Cartridge in the crown",
	"D2.15":        "Foot of the cartridge",
	"U1":           "Bushing play before",
	"U2.left":      "Stanchion wear, rider’s left",
	"U2.right":     "Stanchion wear, rider’s right",
	"U4":           "Depth of the old bushings",
	"U6":           "Bushings",
	"U8":           "New bushings",
	"C3":           "Creaking under load",
	"C4":           "Stanchions, straight edge",
	"C5":           "Steerer",
	"C6":           "Verdict on crown and steerer",
	"Q1":           "What it needs",
	"W4":           "Foam rings",
	"W5":           "Wipers",
	"K4":           "Play at the eyelets",
	"K10":          "Seals of the air can",
	"K12":          "Oil, air side",
	"K13":          "Volume spacers",
	"K14":          "Air can",
	"K16":          "Bolts of the shock",
	"Z3":           "Oil, rider’s left",
	"Z4":           "Oil, rider’s right",
	"Z6":           "Foot washers",
	"Z7":           "Foot, rider’s left",
	"Z8":           "Foot, rider’s right",
	"Z9":           "Rebound range, clicks",
	"R5":           "Stem on the steerer",
	"R5.crowns":    "Crown bolts",
	"R6":           "Brake caliper",
	"R7":           "Axle",
	"R7.pinch":     "Pinch bolts of the axle",
	"V1":           "Full travel by hand",
	"V1.coil":      "Travel under a person’s weight",
	"V4.overnight": "Air lost overnight",
}

// unranked are the steps whose grades are answers beside each other, not a
// scale from good to bad.
var unranked = []string{"A10", "A11", "D2.3", "U8"}

// measuredName falls back to the title at the bench.
func measuredName(s bench.Step) string { return cmp.Or(measuredNames[s.Key], s.Title) }

// measuredNote stands under the drawing: the window or the scale, and the
// reason where it is outside.
func measuredNote(b Base, s bench.Step) string {
	var note string
	if gradeAt(s) >= 0 {
		note = strings.Join(s.Grades, ", ")
	} else if w, ok := s.Window(); ok && w.Minus+w.Plus > 0 {
		note = windowText(b.Prefs.Window(s.Quantity, w.Nominal-w.Minus, w.Nominal+w.Plus))
	}
	if !s.Done.InWindow {
		note += "; outside it: " + s.Done.Reason
	}
	return strings.TrimPrefix(note, "; ")
}

// torqueText says a torque as the sheet does, in the unit it was set in unless the
// customer reads another.
func torqueText(p CustomerPage, s bench.Step) string {
	d := s.Done
	unit := cmp.Or(quantity.Unit(p.Way.Torque), d.ShownUnit)
	var got string
	switch {
	case d.ValueSI != nil && d.How == bench.HowSet:
		got = "set to " + p.Prefs.decimals(bench.ShowSetting(*d.ValueSI, unit)) + ", clicked"
	case d.ValueSI != nil:
		got = p.Prefs.decimals(spec.Show(s.Quantity, *d.ValueSI, unit))
	case d.How == bench.HowByHand:
		got = "by hand"
	}
	text := measuredName(s) + ": " + listed(d.Grade, got)
	if w, ok := s.Window(); ok && w.Minus+w.Plus > 0 {
		text += ", window " + p.Prefs.Window(s.Quantity, w.Nominal-w.Minus, w.Nominal+w.Plus)
	}
	if d.Tool != "" {
		text += "; " + d.Tool
	}
	if !d.InWindow {
		text += "; outside the window: " + d.Reason
	}
	return text + "."
}

// noAirText is what to do before riding a unit that came without its air.
// Common practice (no source).
func noAirText(kind string, pa float64, known bool, p Prefs) (setTo, sag string) {
	setTo = "Before you ride, set it to what the maker’s manual says for you."
	if known {
		setTo = "Before you ride, set it to " + p.Pressure(pa) + " with a shock pump."
	}
	switch kind {
	case "fork":
		sag = "Then check the sag, standing on the pedals with your kit on."
	case "rear shock":
		sag = "Then check the sag, sitting on the bike with your kit on."
	}
	return setTo, sag
}

// beforeRide is what to look at before the first ride: the pressure it left with first,
// where one was set.
func beforeRide(u summary.Unit, p Prefs) []string {
	lines := rideTexts[u.Job.Kind].before
	if pa, ok := u.Sheet.PressureBack(); ok {
		air := "Air at " + p.Pressure(pa) + " (a pump takes a little with its hose)."
		return append([]string{air}, lines...)
	}
	return lines
}

// afterRide is what to look at after it.
func afterRide(u summary.Unit) []string {
	lines := rideTexts[u.Job.Kind].after
	if _, ok := u.Sheet.PressureBack(); ok {
		return append([]string{"Air still the same."}, lines...)
	}
	return lines
}
