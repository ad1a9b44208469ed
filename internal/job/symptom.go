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
	Asks  []Question // what the desk asks next
	// Caution is printed on the ticket and shown on the sheet; empty for most.
	Caution string
}

// Question is asked about a symptom. Without choices it is answered in words.
type Question struct {
	Code    string // kept with answers; never changes within its symptom
	Words   string
	Choices []string
}

// JustDue is the commonest symptom: none.
const JustDue = "just-due"

// afterCrash is the symptom that says the unit crashed.
const afterCrash = "crash"

var (
	yesOrNo = []string{"yes", "no", "not sure"}
	side    = Question{"side", "On which side?", []string{"rider’s left", "rider’s right", "both"}}
	since   = Question{"since", "Since when?", nil}
)

// Symptoms in the order they are offered and shown.
var Symptoms = []Symptom{
	{Code: JustDue, Words: "just due, nothing wrong", Asks: []Question{
		{"stored", "Was it stored for three months or more?", yesOrNo}, {"jet", "Jet washed or under water since?", yesOrNo}}},
	{Code: "sticky", Words: "sticky at the top", Asks: []Question{
		{"when", "After standing, or always?", []string{"after standing a few days", "always"}}, since}},
	{Code: "harsh", Words: "harsh over small bumps", Asks: []Question{
		{"pressure", "At what pressure?", nil}, {"set", "Was that set for this rider?", yesOrNo}, since}},
	{Code: "dives", Words: "dives", Asks: []Question{
		{"when", "When?", []string{"under braking only", "on every bump"}}, since}},
	{Code: "blows-through", Words: "blows through travel", Asks: []Question{
		{"when", "When?", []string{"on big hits only", "on any hit"}}, {"spacers", "How many volume spacers are in?", nil}}},
	{Code: "tops-out", Words: "tops out with a clunk", Asks: []Question{
		{"when", "When?", []string{"each time the wheel is lifted", "only after fast hits"}}, {"open", "Since it was last opened?", yesOrNo}}},
	{Code: "knocks", Words: "knocks under braking", Asks: []Question{
		{"headset", "Has the headset been ruled out?", yesOrNo}, {"axle", "Are axle and brake tight?", yesOrNo}, since}},
	{Code: "stuck-down", Words: "stuck down", Asks: []Question{
		{"how", "How did it come?", []string{"all at once", "a little more each ride", "after it was pumped or let out"}},
		{"done", "What was tried since?", nil}},
		Caution: "May hold trapped pressure that can fire the shaft out. Do not pump it, pull at it or open it; at the bench by the maker’s method only."},
	{Code: "oil", Words: "oil on the stanchion", Asks: []Question{
		{"much", "How much?", []string{"a thin ring", "it runs or drips"}}, side, {"brake", "Any on the brake?", yesOrNo}}},
	{Code: "scratch", Words: "scratch on the stanchion", Asks: []Question{
		{"nail", "Does it catch a fingernail?", yesOrNo}, side, {"reach", "Does the wiper run over it?", yesOrNo}}},
	{Code: "lockout", Words: "lock-out does not hold", Asks: []Question{
		{"how", "How?", []string{"not at all", "it gives way slowly", "only when cold or warm"}}, {"remote", "By a remote?", yesOrNo}}},
	{Code: "rebound", Words: "rebound does nothing", Asks: []Question{
		{"knob", "Does the knob still turn and click?", yesOrNo}, {"speed", "How is it?", []string{"always fast", "always slow"}}}},
	{Code: "creaks", Words: "creaks at the crown", Asks: []Question{
		{"headset", "Have headset and stem been ruled out?", yesOrNo}, {"crash", "A crash or a hard landing before?", yesOrNo}, since},
		Caution: "Crown and steerer may be cracked. Not to be ridden until they are inspected."},
	{Code: "travel-short", Words: "travel short", Asks: []Question{
		{"air", "With the air out as well?", yesOrNo}, {"built", "Was its travel ever changed?", yesOrNo}}},
	{Code: "loses-air", Words: "loses air", Asks: []Question{
		{"how", "How fast?", []string{"while riding", "overnight", "over weeks"}}, {"much", "How much, from what?", nil}, {"came", "How is it now?", []string{"arrived empty", "some air in it", "unknown"}}}},
	{Code: afterCrash, Words: "after a crash", Asks: []Question{
		{"hit", "What did it hit?", nil}, {"bent", "Is anything bent or cracked?", yesOrNo}, {"ridden", "Ridden since?", yesOrNo}},
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
