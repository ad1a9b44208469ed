package job

import (
	"cmp"
	"slices"
)

// Symptom is a complaint of the trade. Everything said of it is common
// practice (no source); the maker's manual governs.
type Symptom struct {
	Code  string // kept with jobs; never changes
	Words string
	Ask   string // what the desk asks next
	// Caution is printed on the ticket and shown on the sheet; empty for most.
	Caution string
}

// JustDue is the commonest symptom: none.
const JustDue = "just-due"

// Symptoms in the order they are offered and shown.
var Symptoms = []Symptom{
	{Code: JustDue, Words: "just due, nothing wrong", Ask: "How many rides a week, and how long is each?"},
	{Code: "sticky", Words: "sticky at the top", Ask: "After standing a few days, or always?"},
	{Code: "harsh", Words: "harsh over small bumps", Ask: "At what pressure, and was it set for this rider?"},
	{Code: "dives", Words: "dives", Ask: "Under braking only, and since when?"},
	{Code: "blows-through", Words: "blows through travel", Ask: "On big hits only, and how many volume spacers are in?"},
	{Code: "tops-out", Words: "tops out with a clunk", Ask: "Each time the wheel is lifted, or only after fast hits?"},
	{Code: "knocks", Words: "knocks under braking", Ask: "Has the headset been ruled out?"},
	{Code: "stuck-down", Words: "stuck down", Ask: "All at once, or a little more each ride?",
		Caution: "May hold trapped pressure that can fire the shaft out. Do not pump it, pull at it or open it; at the bench by the maker’s method only."},
	{Code: "oil", Words: "oil on the stanchion", Ask: "A thin ring or drips, and on which side?"},
	{Code: "scratch", Words: "scratch on the stanchion", Ask: "Does it catch a fingernail?"},
	{Code: "lockout", Words: "lock-out does not hold", Ask: "Not at all, or does it give way slowly?"},
	{Code: "rebound", Words: "rebound does nothing", Ask: "Does the knob still turn and click?"},
	{Code: "creaks", Words: "creaks at the crown", Ask: "Have headset and stem been ruled out?",
		Caution: "Crown and steerer may be cracked. Not to be ridden until they are inspected."},
	{Code: "travel-short", Words: "travel short", Ask: "With the air out as well?"},
	{Code: "loses-air", Words: "loses air", Ask: "Overnight or over weeks, and how much?"},
	{Code: "crash", Words: "after a crash", Ask: "What did it hit, and is anything bent?",
		Caution: "Crown and steerer are inspected before it is ridden again."},
}

// SymptomOf finds a symptom by its code.
func SymptomOf(code string) (Symptom, bool) {
	i := symptomIndex(code)
	if i < 0 {
		return Symptom{}, false
	}
	return Symptoms[i], true
}

func symptomIndex(code string) int {
	return slices.IndexFunc(Symptoms, func(s Symptom) bool { return s.Code == code })
}

func sortSymptoms(codes []string) {
	slices.SortFunc(codes, func(a, b string) int { return cmp.Compare(symptomIndex(a), symptomIndex(b)) })
}
