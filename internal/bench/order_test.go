package bench

import (
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// lowers is a short lower-leg sheet: air out as a stop-here (S5), the legs
// checked as another (Z1), oil and foot bolts by leg, a second-check step (Z9)
// and the final check. Common practice (no source).
func lowers(signed ...string) Sheet {
	sheet := Sheet{Job: job.Job{ID: 1, Stage: "on the bench"}}
	add := func(block, key string, kind procedure.Kind, more func(*Step)) {
		seq := len(sheet.Steps) + 1
		step := Step{ID: int64(seq), Seq: seq, Block: block, Key: key, Kind: kind, Title: key}
		if more != nil {
			more(&step)
		}
		sheet.Steps = append(sheet.Steps, step)
	}
	stop := func(s *Step) { s.StopHere = true }
	add("A", "A4", procedure.Reading, nil)
	add("S", "S5", procedure.Check, stop)
	add("S", "S6", procedure.Check, nil)
	add("W", "W1", procedure.Check, nil)
	add("Z", "Z1", procedure.Check, stop)
	add("Z", "Z3", procedure.Volume, nil)
	add("Z", "Z7", procedure.Torque, nil)
	add("Z", "Z9", procedure.Check, func(s *Step) { s.SecondCheck = true })
	add("V", "V1", procedure.Check, nil)
	add("V", "V2", procedure.Reading, nil)
	for _, key := range signed {
		sheet.give(key)
	}
	return sheet
}

// give signs a step; the key with a star is its second check.
func (s Sheet) give(key string) {
	if base, ok := cutStar(key); ok {
		step := s.ByKey(base)
		step.Checked = &Signoff{ID: 1000 + step.ID, StepID: step.ID, Role: RoleChecked, Actor: "Tobias", ActorID: 2, At: noon}
		return
	}
	step := s.ByKey(key)
	step.Done = &Signoff{ID: 500 + step.ID, StepID: step.ID, Role: RoleDone, Actor: "Ines", ActorID: 1, At: noon}
}

func cutStar(key string) (string, bool) {
	if n := len(key) - 1; key[n] == '*' {
		return key[:n], true
	}
	return key, false
}

var noon = time.Date(2026, 10, 13, 11, 0, 0, 0, time.UTC)

var beforeProve = []string{"A4", "S5", "S6", "W1", "Z1", "Z3", "Z7", "Z9", "Z9*"}

func TestNothingAfterAnUnsignedStopHere(t *testing.T) {
	cases := []struct {
		name   string
		signed []string
		key    string
		want   string // the step that has to come first
	}{
		{"the first step", nil, "A4", ""},
		{"out of order before a stop-here", nil, "S5", ""},
		{"knob off before the air is out", []string{"A4"}, "S6", "S5"},
		{"oil before the legs are checked", []string{"A4", "S5", "S6", "W1"}, "Z3", "Z1"},
		{"two stop-heres open: the first one", nil, "Z7", "S5"},
		{"a plain step left open holds nothing up", []string{"S5"}, "W1", ""},
		{"the final check waits for a plain step too", []string{"S5", "S6", "W1", "Z1", "Z3", "Z7", "Z9", "Z9*"}, "V1", "A4"},
		{"the final check waits for a second check", beforeProve[:8], "V1", "Z9"},
		{"the final check", beforeProve, "V1", ""},
		{"inside the final check in any order", beforeProve, "V2", ""},
	}
	for _, c := range cases {
		sheet := lowers(c.signed...)
		got := ""
		if blocker := sheet.BlockedBy(sheet.ByKey(c.key)); blocker != nil {
			got = blocker.Key
		}
		if got != c.want {
			t.Errorf("%s: %s is blocked by %q, want %q", c.name, c.key, got, c.want)
		}
	}
}

func TestAStopHereWithASecondCheckHoldsUntilChecked(t *testing.T) {
	sheet := lowers("A4", "S5")
	sheet.ByKey("S5").SecondCheck = true
	if blocker := sheet.BlockedBy(sheet.ByKey("S6")); blocker == nil || blocker.Key != "S5" {
		t.Fatalf("S6 is blocked by %v, want S5", blocker)
	}
	if step, role := sheet.Next(); step.Key != "S5" || role != RoleChecked {
		t.Errorf("next is %s %s, want the check of S5", step.Key, role)
	}
	sheet.give("S5*")
	if blocker := sheet.BlockedBy(sheet.ByKey("S6")); blocker != nil {
		t.Errorf("S6 is blocked by %s after the second check", blocker.Key)
	}
}

func TestNext(t *testing.T) {
	cases := []struct {
		signed    []string
		key, role string
	}{
		{nil, "A4", RoleDone},
		{[]string{"A4"}, "S5", RoleDone},
		{[]string{"A4", "S5", "S6", "W1", "Z1", "Z3"}, "Z7", RoleDone},
		{beforeProve[:8], "Z9", RoleChecked},
		{beforeProve, "V1", RoleDone},
		{append(slices.Clone(beforeProve), "V1", "V2"), "", ""},
	}
	for _, c := range cases {
		step, role := lowers(c.signed...).Next()
		key := ""
		if step != nil {
			key = step.Key
		}
		if key != c.key || role != c.role {
			t.Errorf("after %v: next is %q %q, want %q %q", c.signed, key, role, c.key, c.role)
		}
	}
}

func TestProvingBeginsWithTheFirstLineOfTheFinalCheck(t *testing.T) {
	cases := []struct {
		signed []string
		want   bool
	}{
		{beforeProve, false},
		{append(slices.Clone(beforeProve), "V1"), true},
		{append(slices.Clone(beforeProve[:8]), "V1"), false},
	}
	for _, c := range cases {
		if got := lowers(c.signed...).Proving(); got != c.want {
			t.Errorf("after %v: proving is %v, want %v", c.signed, got, c.want)
		}
	}
}

func TestWhatACrossingOutUndoes(t *testing.T) {
	cases := []struct {
		name   string
		signed []string
		out    string
		want   []string
	}{
		{"a plain step alone", beforeProve, "W1", []string{"W1"}},
		{"a stop-here takes all after it", []string{"A4", "S5", "S6", "W1", "Z1", "Z3"}, "S5", []string{"S5", "S6", "W1", "Z1", "Z3"}},
		{"a later stop-here leaves what was before it", beforeProve, "Z1", []string{"Z1", "Z3", "Z7", "Z9", "Z9*"}},
		{"what was done takes its second check", beforeProve, "Z9", []string{"Z9", "Z9*"}},
		{"a second check alone", beforeProve, "Z9*", []string{"Z9*"}},
	}
	for _, c := range cases {
		sheet := lowers(c.signed...)
		if got := keysOf(sheet, sheet.Undone(liveID(sheet, c.out))); !slices.Equal(got, c.want) {
			t.Errorf("%s: crossing out %s undoes %v, want %v", c.name, c.out, got, c.want)
		}
	}
	if got := lowers().Undone(501); got != nil {
		t.Errorf("crossing out what is not live undoes %v", got)
	}
}

// Whoever loosens a stem, a crown, a caliper, an axle or a shock again has it looked at again by
// somebody else: common practice (no source).
func TestATorqueOfTheRefitTakesItsSecondCheck(t *testing.T) {
	refit := func(signed ...string) Sheet {
		sheet := Sheet{Job: job.Job{ID: 1, Stage: job.OnBench}}
		for i, key := range []string{"R4", "R5", "R6", "R7", "R7.lever", "R8", "R9.stem", "R9.axle", "R9.brake", "R10",
			"R5.crowns", "R7.pinch", "R9.crowns", "K16", "K17"} {
			sheet.Steps = append(sheet.Steps, Step{ID: int64(i + 1), Seq: i + 1, Block: "R", Key: key, Kind: procedure.Check,
				StopHere: key == "R8", SecondCheck: strings.HasPrefix(key, "R9") || key == "K17"})
		}
		for _, key := range signed {
			sheet.give(key)
		}
		return sheet
	}
	all := []string{"R4", "R5", "R6", "R7", "R7.lever", "R8", "R9.stem", "R9.stem*", "R9.axle", "R9.axle*", "R9.brake", "R9.brake*", "R10"}
	cases := []struct {
		signed []string
		out    string
		want   []string
	}{
		{all, "R5", []string{"R5", "R9.stem", "R9.stem*"}},
		{all, "R6", []string{"R6", "R9.brake", "R9.brake*"}},
		{all, "R7", []string{"R7", "R9.axle", "R9.axle*"}},
		{all, "R7.lever", []string{"R7.lever", "R9.axle", "R9.axle*"}},
		{all[:7], "R5", []string{"R5", "R9.stem"}},
		{all[:7], "R6", []string{"R6"}},
		{all, "R4", []string{"R4"}},
		{all, "R9.stem", []string{"R9.stem", "R9.stem*"}},
		{all, "R9.stem*", []string{"R9.stem*"}},
		{all, "R10", []string{"R10"}},
		{all, "R8", all[5:]},
		{[]string{"R5.crowns", "R9.crowns", "R9.crowns*"}, "R5.crowns", []string{"R5.crowns", "R9.crowns", "R9.crowns*"}},
		{[]string{"R9.axle", "R9.axle*", "R7.pinch"}, "R7.pinch", []string{"R7.pinch", "R9.axle", "R9.axle*"}},
		{[]string{"K16", "K17", "K17*"}, "K16", []string{"K16", "K17", "K17*"}},
	}
	for _, c := range cases {
		sheet := refit(c.signed...)
		if got := keysOf(sheet, sheet.Undone(liveID(sheet, c.out))); !slices.Equal(got, c.want) {
			t.Errorf("crossing out %s undoes %v, want %v", c.out, got, c.want)
		}
	}
}

func liveID(s Sheet, key string) int64 {
	if base, ok := cutStar(key); ok {
		return s.ByKey(base).Checked.ID
	}
	return s.ByKey(key).Done.ID
}

func keysOf(s Sheet, list []Signoff) []string {
	var keys []string
	for _, so := range list {
		key := s.Find(so.StepID).Key
		if so.Role == RoleChecked {
			key += "*"
		}
		keys = append(keys, key)
	}
	return keys
}

func TestWhatKeepsAJobFromBeingReady(t *testing.T) {
	all := append(slices.Clone(beforeProve), "V1", "V2")
	noted := func(s Sheet) Sheet { s.Job.RiderNote = "Smooth again."; return s }
	cases := []struct {
		name  string
		sheet Sheet
		want  []string
	}{
		{"nothing", noted(lowers(all...)), nil},
		{"no sheet", noted(Sheet{}), []string{"No work has been started."}},
		{"a step", noted(lowers(all[1:]...)), []string{"Step 1 is not signed: A4."}},
		{"a second check", noted(lowers(slices.DeleteFunc(slices.Clone(all), func(key string) bool { return key == "Z9*" })...)),
			[]string{"Step 8 waits for its second check: Z9."}},
		{"the rider’s note", lowers(all...), []string{"Write the rider’s note."}},
	}
	for _, c := range cases {
		if got := c.sheet.Unready(); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	unknown := noted(lowers(all...))
	unknown.ByKey("V2").Done.Outcome = OutcomeUnknown
	if got := unknown.Unready(); !slices.Equal(got, []string{"Set and sign pressure as returned."}) {
		t.Errorf("the pressure returned is not known: %q", got)
	}
}
