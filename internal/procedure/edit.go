package procedure

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// Kinds lists the kinds of steps.
var Kinds = []Kind{Check, Torque, Volume, Reading, Count, Wait, Fit, Picture}

// Scales are the answers that a step may be given to choose from.
var Scales = [][]string{
	playGrades, stanchionGrade, drainedGrades, crownGrades, movesGrades, feltGrades, fluidGrades, sizedGrades,
	straightGrades, clampGrades, fitGrades, newUsually, keptUsually, verdictGrades,
}

// How long what the shop writes may be, in characters, and how much of it.
const (
	mostTitle      = 60
	mostText       = 1000
	mostCaution    = 500
	mostConditions = 6
	mostMinutes    = 2880 // two days
	mostFasteners  = 12
	mostKit        = 120 // characters
)

// leaned are the shipped steps that a rule of the program leans on: settings
// pair by them, work that is undone is opened again by them, the verdict is read
// from them. They may be reworded and moved, and stay in their block.
var leaned = []string{
	"A4", "A5.preload", "A5.rebound", "A5.compression", "A5.lockout", keyIdentify,
	"S1", "S3", "S5", "S5.coil", "S6", "S7", lowersOffStep, "S9.left", "S9.right", "W1", "W4", "W5",
	"D1.2", "D1.9", "D1.9.sealed", "D1.12", "D2.14", "K1", "K16", "F1", "F1.shock",
	keyLegs, "Z2", "Z3", "Z4", "Z5", "Z6", "Z7", "Z8", "Z9",
	"V2", "V2.coil", "V3.preload", "V3.rebound", "V3.compression", "V3.lockout", "V4.overnight", "V9",
	"R2", "R5", "R5.crowns", "R6", "R7", "R7.lever", "R7.pinch",
}

// Leaned reports whether a rule of the program leans on the step of that key.
func Leaned(key string) bool { return slices.Contains(leaned, key) }

// Stays reports whether a shipped step may not leave its block.
func (s Step) Stays() bool { return s.StopHere || s.SecondCheck || Leaned(s.Key) }

// Plain reports whether the step may be signed with others by one press.
func (s Step) Plain() bool {
	return s.Kind != Torque && s.Kind != Volume && !s.StopHere && !s.SecondCheck
}

// faults says by field what is wrong with a step as the shop writes it. shipped
// is what the program brings under its key, nil for a step of the shop's own. A
// stop-here, a second check and the kind of a shipped step stay; so does when it
// is asked where people or a rule depend on it. A caution may be reworded.
func (s Step) faults(shipped *Step) map[string]string {
	f := map[string]string{}
	refuse := func(wrong bool, field, sentence string) {
		if _, told := f[field]; wrong && !told {
			f[field] = sentence
		}
	}
	refuse(s.Title == "", "title", "Say in a few words what is done.")
	refuse(utf8.RuneCountInString(s.Title) > mostTitle, "title", fmt.Sprintf("Write at most %d characters.", mostTitle))
	refuse(s.Text == "", "text", "Say how it is done and when it is right.")
	refuse(utf8.RuneCountInString(s.Text) > mostText, "text", fmt.Sprintf("Write at most %d characters.", mostText))
	refuse(utf8.RuneCountInString(s.Caution) > mostCaution, "caution", fmt.Sprintf("Write at most %d characters.", mostCaution))
	for field, words := range map[string]string{"tools": s.Tools, "parts": s.Parts} {
		refuse(utf8.RuneCountInString(words) > mostKit, field, fmt.Sprintf("Write at most %d characters.", mostKit))
	}
	refuse(!slices.Contains(Kinds, s.Kind), "kind", "Choose what kind of step it is.")
	refuse(!spec.ValidPlace(settle(s.Place, Facts{SpringLeg: "left", DamperLeg: "right"})), "place", "Choose places of the drawing.")
	refuse(len(s.Grades) > 0 && !s.graded(), "scale", "Answers to choose from go with a check, a reading, a picture or a fit.")
	refuse(len(s.Grades) > 0 && !slices.ContainsFunc(Scales, func(scale []string) bool { return slices.Equal(scale, s.Grades) }), "scale", "Choose one of the scales.")
	refuse(s.MayBeUnknown && s.Kind != Reading && s.Kind != Count, "unknown", "Only a reading and a count may be unknown.")
	refuse(s.Minutes < 0 || s.Minutes > mostMinutes, "minutes", "Type 0 to 2880 minutes.")
	refuse(s.Minutes > 0 && s.Kind != Wait, "minutes", "Only a wait has minutes.")
	refuse(s.Fasteners < 0 || s.Fasteners > mostFasteners, "fasteners", "Type 1 to 12.")
	refuse(s.Fasteners > 1 && s.Kind != Torque, "fasteners", "Only a torque counts fasteners.")
	refuse(s.valueFault() != "", "spec", s.valueFault())
	refuse(s.conditionFault() != "", "condition", s.conditionFault())
	if shipped != nil {
		s.keeps(*shipped, refuse)
	}
	return f
}

// keeps refuses what a shipped step may not lose.
func (s Step) keeps(shipped Step, refuse func(wrong bool, field, sentence string)) {
	refuse(s.Kind != shipped.Kind, "kind", fmt.Sprintf("This step is a %s as shipped and stays one; add a step of your own for another kind.", shipped.Kind))
	refuse(shipped.StopHere && !s.StopHere, "stop", "This stop-here guards people: it stays.")
	refuse(shipped.SecondCheck && !s.SecondCheck, "second", "This second check guards people: it stays.")
	refuse(shipped.Stays() && !slices.Equal(s.Conditions, shipped.Conditions), "condition", "When this step is asked stays as shipped: people or other steps depend on it.")
	refuse(Leaned(s.Key) && !slices.Equal(s.Grades, shipped.Grades), "scale", "The answers of this step stay as shipped: other rules read them.")
	refuse(Leaned(s.Key) && s.SpecKey != shipped.SpecKey, "spec", "The value of this step stays as shipped: other steps pair with it.")
	refuse(shipped.Caution != "" && s.Caution == "", "caution", "This step is shipped with a caution: reword it, but leave one.")
}

func (s Step) graded() bool { return slices.Contains([]Kind{Check, Reading, Picture, Fit}, s.Kind) }

// valueFault: no torque and no amount without the key it is looked up by.
func (s Step) valueFault() string {
	k, known := spec.Find(s.SpecKey)
	switch {
	case s.SpecKey != "" && !known:
		return "Choose a value that spec sheets state."
	case s.Kind == Torque && k.Kind != quantity.KindTorque:
		return "A torque needs the torque of the spec sheet that it is tightened to."
	case s.Kind == Volume && k.Kind != quantity.KindVolume:
		return "An amount needs the amount of the spec sheet that goes in."
	case s.Kind == Count && s.SpecKey != "" && k.Kind != spec.KindCount:
		return "A count goes with something that is counted."
	case s.Kind != Torque && k.Kind == quantity.KindTorque, s.Kind != Volume && k.Kind == quantity.KindVolume:
		return "That value belongs to a step of another kind."
	}
	return ""
}

func (s Step) conditionFault() string {
	if len(s.Conditions) > mostConditions {
		return fmt.Sprintf("Choose at most %d.", mostConditions)
	}
	for i, c := range s.Conditions {
		if _, err := ask(c, Facts{}); err != nil {
			return "Choose from the list when it is asked."
		}
		for _, other := range s.Conditions[:i] {
			if other == c {
				return "The same is chosen twice."
			}
			if other == "not "+c || c == "not "+other {
				return "These two never hold at once, so that the step would never be asked."
			}
		}
	}
	return ""
}

// Conditions lists what a step or a part of a service may depend on.
func Conditions() []string {
	var list []string
	for c := range conditions {
		list = append(list, c)
	}
	slices.Sort(list)
	return list
}

// BlockFaults says what keeps a draft from being put in force, in sentences:
// what may not leave it, what has to come before what, and groups that no one
// press may sign. What neither the draft nor the revision before it has came with
// a newer shipped text.
func BlockFaults(draft, before, shipped Block) []string {
	var list []string
	for _, s := range shipped.Steps {
		switch {
		case !s.Stays() || byKey(draft.Steps, s.Key) != nil:
		case byKey(before.Steps, s.Key) == nil:
			list = append(list, fmt.Sprintf("“%s” came with a newer shipped text, and people or other steps depend on it: take that text, and begin a draft with it.", s.Title))
		default:
			list = append(list, fmt.Sprintf("“%s” stays in its block: people or other steps depend on it.", s.Title))
		}
	}
	for i := range draft.Steps {
		for _, sentence := range draft.Steps[i].faults(byKey(shipped.Steps, draft.Steps[i].Key)) {
			list = append(list, fmt.Sprintf("“%s”: %s", draft.Steps[i].Title, sentence))
		}
	}
	slices.Sort(list)
	return slices.Concat(list, orderFaults(draft, shipped), groupFaults(draft.Steps))
}

// orderFaults holds a block in an order that guards: a step that is shipped
// after a stop-here stays after it, and the parts of a block that stand apart on
// a bench sheet are not mixed.
func orderFaults(draft, shipped Block) []string {
	var list []string
	for i, s := range draft.Steps {
		for _, before := range draft.Steps[:i] {
			was, stop := indexOf(shipped.Steps, before.Key), indexOf(shipped.Steps, s.Key)
			if stop >= 0 && was > stop && shipped.Steps[stop].StopHere {
				list = append(list, fmt.Sprintf("“%s” comes after “%s”, which has to be signed first.", before.Title, s.Title))
			}
			if segment(draft.Code, before) > segment(draft.Code, s) {
				list = append(list, fmt.Sprintf("“%s” belongs to a later part of the sheet than “%s” and stays behind it.", before.Title, s.Title))
			}
		}
	}
	return list
}

func indexOf(steps []Step, key string) int {
	return slices.IndexFunc(steps, func(s Step) bool { return s.Key == key })
}

// segment is the number from which on the step's part of the block stands apart
// on a bench sheet, with other blocks before it.
func segment(code string, s Step) int {
	n := 0
	for _, st := range order {
		if st.block == code && st.from > 0 && s.Number() >= st.from {
			n = max(n, st.from)
		}
	}
	return n
}

// groupFaults looks at unbroken runs, as Merge signs them: what stands between
// lines of a group parts them.
func groupFaults(steps []Step) []string {
	var list []string
	run := 0
	for i, s := range steps {
		if run++; i == 0 || s.Group == "" || s.Group != steps[i-1].Group {
			run = 1
		}
		switch {
		case s.Group != "" && !s.Plain():
			list = append(list, fmt.Sprintf("“%s” is signed on its own: a torque, an amount, a stop-here and a second check never share a press.", s.Title))
		case run == maxTogether+1:
			list = append(list, fmt.Sprintf("More than %d lines would be signed with one press, up to “%s”.", maxTogether, s.Title))
		}
	}
	return list
}

// following reports whether the steps of the keys stand one behind the other.
func following(steps []Step, keys []string) bool {
	var at []int
	for _, key := range keys {
		at = append(at, indexOf(steps, key))
	}
	slices.Sort(at)
	return len(at) > 0 && at[0] >= 0 && at[len(at)-1]-at[0] == len(at)-1
}

// Moved is the steps with the one of that key at place to, counted from 1.
func Moved(steps []Step, key string, to int) []Step {
	i := indexOf(steps, key)
	if i < 0 {
		return steps
	}
	rest := slices.Delete(slices.Clone(steps), i, i+1)
	return slices.Insert(rest, min(max(to, 1), len(steps))-1, steps[i])
}

// Grouped is the steps with those of the keys signed together, or each alone.
func Grouped(steps []Step, keys []string, together bool) []Step {
	list := slices.Clone(steps)
	for i := range list {
		if !slices.Contains(keys, list[i].Key) {
			continue
		}
		if list[i].Group = ""; together {
			list[i].Group = "with " + keys[0]
		}
	}
	return list
}

var numberForm = regexp.MustCompile(`^\.?[0-9]+`)

// OwnKey is a free key for a step of the shop's own behind that of the key after:
// it has its number, so that it stands and is brought where that one is.
func OwnKey(b Block, after string) string {
	number := b.Code + numberForm.FindString(strings.TrimPrefix(after, b.Code))
	for n := 1; ; n++ {
		if key := fmt.Sprintf("%s.own%d", number, n); byKey(b.Steps, key) == nil {
			return key
		}
	}
}
