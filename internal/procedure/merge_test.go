package procedure

import (
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/fault"
)

// numbered is a block of plain steps, one a number.
func numbered(code, dot string, n int, conditions ...string) Block {
	b := Block{Code: code, Title: "Block " + code, Revision: 1}
	for i := 1; i <= n; i++ {
		b.Steps = append(b.Steps, Step{Key: fmt.Sprint(code, dot, i), Kind: Check, Title: "Step", Conditions: conditions})
	}
	return b
}

// bare has every block of the trade by the number of its steps: common practice
// (no source).
func bare() map[string]Block {
	blocks := map[string]Block{}
	for _, b := range []Block{
		numbered("A", "", 11), numbered("S", "", 10), numbered("P", "", 12), numbered("D1", ".", 13),
		numbered("D2", ".", 13), numbered("C", "", 6), numbered("U", "", 9), numbered("W", "", 6),
		numbered("Z", "", 9), numbered("V", "", 9), numbered("R", "", 10, "whole bike"),
	} {
		blocks[b.Code] = b
	}
	for i := range 3 {
		blocks["S"].Steps[i].Conditions = []string{"whole bike"}
	}
	for _, key := range []string{"S5", "P1", "P8", "D1.1", "D1.8", "D2.1", "D2.12", "U3", "U8", "C6", "Z1", "R8"} {
		for _, b := range blocks {
			for i := range b.Steps {
				b.Steps[i].StopHere = b.Steps[i].StopHere || b.Steps[i].Key == key
			}
		}
	}
	return blocks
}

var trade = map[string]Service{
	"lower-leg":     {Code: "lower-leg", Name: "Lower-leg service", Blocks: []string{"A", "S", "D1.1-3 only if shared oil", "D1.9-13 only if shared oil", "W", "Z", "V", "R"}},
	"air-spring":    {Code: "air-spring", Name: "Air-spring service", Blocks: []string{"A", "S", "P", "W", "Z", "V", "R"}},
	"open-bath":     {Code: "open-bath", Name: "Open-bath damper", Blocks: []string{"A", "S", "D1.1-8", "D1.9-13", "W", "Z", "V", "R"}},
	"cartridge":     {Code: "cartridge", Name: "Cartridge damper", Blocks: []string{"V", "Z", "W", "D2", "S", "A", "R"}},
	"full":          {Code: "full", Name: "Full service", Blocks: []string{"A", "S", "C", "P", "D1 if not cartridge", "D2 if cartridge", "W", "Z", "V", "R"}},
	"bushings":      {Code: "bushings", Name: "Bushing replacement", Blocks: []string{"A", "S", "U", "W", "Z", "V", "R"}},
	"crown-steerer": {Code: "crown-steerer", Name: "Crown-steerer inspection", Blocks: []string{"A", "S1-5", "C", "V2-3", "R"}},
}

func services(codes ...string) []Service {
	var list []Service
	for _, c := range codes {
		list = append(list, trade[c])
	}
	return list
}

func keys(steps []Step) []string {
	var list []string
	for _, s := range steps {
		list = append(list, s.Key)
	}
	return list
}

// runs writes steps as the trade does: "S4-10 W1-6".
func runs(steps []Step) string {
	var out []string
	for i := 0; i < len(steps); {
		end := i
		for end+1 < len(steps) && steps[end+1].Block == steps[i].Block && steps[end+1].Number() == steps[end].Number()+1 {
			end++
		}
		text := steps[i].Key
		if end > i {
			text += fmt.Sprint("-", steps[end].Number())
		}
		out = append(out, text)
		i = end + 1
	}
	return strings.Join(out, " ")
}

func TestMergeSequencesOfTheTrade(t *testing.T) {
	file, err := os.Open("../../testdata/procedure/sequences.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		facts := Facts{Kind: "fork", Spring: "air", Damper: row[1], CameAs: row[2], ModelKnown: true}
		steps, err := Merge(services(strings.Fields(row[0])...), bare(), facts)
		if err != nil {
			t.Errorf("%s, damper %q, came as %q: %v", row[0], row[1], row[2], err)
			continue
		}
		if got := runs(steps); got != row[3] {
			t.Errorf("%s, damper %q, came as %q:\n got %s\nwant %s", row[0], row[1], row[2], got, row[3])
		}
	}
}

func TestMergeConditions(t *testing.T) {
	block := Block{Code: "A", Title: "Conditions", Steps: []Step{
		{Key: "A1"},
		{Key: "A2.air", Conditions: []string{"air"}},
		{Key: "A2.coil", Conditions: []string{"coil"}},
		{Key: "A3", Conditions: []string{"whole bike"}},
		{Key: "A4.rebound", Conditions: []string{"adjuster rebound"}},
		{Key: "A4.lockout", Conditions: []string{"adjuster lockout"}},
		{Key: "A5.left", Conditions: []string{"not shared oil left"}},
		{Key: "A5.right", Conditions: []string{"not shared oil right"}},
		{Key: "A6", Conditions: []string{"kind fork", "coil"}},
		{Key: "A7", Conditions: []string{"not kind fork"}},
		{Key: "A8", Conditions: []string{"two crowns"}},
	}}
	known := Facts{Kind: "fork", Crowns: "one", Spring: "air", Damper: "cartridge", SpringLeg: "left", DamperLeg: "right",
		Adjusters: []string{"rebound"}, CameAs: "unit only", ModelKnown: true}
	with := func(change func(*Facts)) Facts { f := known; change(&f); return f }
	cases := []struct {
		name  string
		facts Facts
		want  string
	}{
		{"air cartridge fork alone", known, "A1 A2.air A4.rebound A5.left A5.right"},
		{"coil", with(func(f *Facts) { f.Spring = "coil" }), "A1 A2.coil A4.rebound A5.left A5.right A6"},
		{"rigid", with(func(f *Facts) { f.Spring = "none" }), "A1 A4.rebound A5.left A5.right"},
		{"whole bike", with(func(f *Facts) { f.CameAs = "whole bike" }), "A1 A2.air A3 A4.rebound A5.left A5.right"},
		{"wheel along", with(func(f *Facts) { f.CameAs = "unit and wheel" }), "A1 A2.air A4.rebound A5.left A5.right"},
		{"shared oil right", with(func(f *Facts) { f.Damper = "shared oil" }), "A1 A2.air A4.rebound A5.left"},
		{"shared oil, leg not known", with(func(f *Facts) { f.Damper, f.DamperLeg = "shared oil", "" }), "A1 A2.air A4.rebound A5.left A5.right"},
		{"no adjusters", with(func(f *Facts) { f.Adjusters = nil }), "A1 A2.air A5.left A5.right"},
		{"rear shock", with(func(f *Facts) { f.Kind = "rear shock" }), "A1 A2.air A4.rebound A5.left A5.right A7"},
		{"model not known", Facts{Kind: "fork", CameAs: "unit only"}, "A1 A2.air A2.coil A4.rebound A4.lockout A5.left A5.right A6 A8"},
		{"nothing known", Facts{}, "A1 A2.air A2.coil A3 A4.rebound A4.lockout A5.left A5.right A6 A7 A8"},
		{"two crowns", with(func(f *Facts) { f.Crowns = "two" }), "A1 A2.air A4.rebound A5.left A5.right A8"},
	}
	for _, c := range cases {
		steps, err := Merge([]Service{{Blocks: []string{"A"}}}, map[string]Block{"A": block}, c.facts)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := strings.Join(keys(steps), " "); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

func TestMergeMarksWhatIsAskedForWantOfAFact(t *testing.T) {
	blocks := map[string]Block{
		"A": {Code: "A", Steps: []Step{
			{Key: "A1"}, {Key: "A2.air", Conditions: []string{"air"}}, {Key: "A2.coil", Conditions: []string{"coil"}},
			{Key: "A3", Conditions: []string{"not shared oil left"}}, {Key: "A4", Conditions: []string{"kind fork", "whole bike"}},
		}},
		"S": numbered("S", "", 2),
	}
	unknown := Facts{Kind: "fork"}
	known := Facts{Kind: "fork", Spring: "air", Damper: "sealed", CameAs: "whole bike"}
	for _, c := range []struct {
		name     string
		services [][]string
		facts    Facts
		want     string
	}{
		{"all known", [][]string{{"A", "S if sealed"}}, known, ""},
		{"nothing known", [][]string{{"A"}}, unknown, "A2.air A2.coil A3 A4"},
		{"shared oil, leg not known", [][]string{{"A"}}, Facts{Kind: "fork", Spring: "air", Damper: "shared oil", CameAs: "unit only"}, "A3"},
		{"a block of a service", [][]string{{"A1", "S if sealed"}}, unknown, "S1 S2"},
		{"asked by another service all the same", [][]string{{"S2"}, {"S if sealed"}}, unknown, "S1"},
		{"the other way round", [][]string{{"S if sealed"}, {"S2"}}, unknown, "S1"},
		{"only where it is sure", [][]string{{"A1", "S only if sealed"}}, unknown, ""},
	} {
		var list []Service
		for _, entries := range c.services {
			list = append(list, Service{Blocks: entries})
		}
		steps, err := Merge(list, blocks, c.facts)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		unsure := slices.DeleteFunc(steps, func(s Step) bool { return !s.Unsure })
		if got := strings.Join(keys(unsure), " "); got != c.want {
			t.Errorf("%s: got %q unsure, want %q", c.name, got, c.want)
		}
	}
}

func TestMergeRefuses(t *testing.T) {
	fork := Facts{Kind: "fork", CameAs: "unit only"}
	shockless := Block{Code: "A", Steps: []Step{{Key: "A1", Conditions: []string{"kind fork"}}}}
	var invalid *fault.Invalid
	var conflict fault.Conflict
	cases := []struct {
		name     string
		services []Service
		blocks   map[string]Block
		facts    Facts
		want     any
		sentence string
	}{
		{"no service", nil, bare(), fork, &invalid, "Choose at least one service."},
		{"a block nobody knows", []Service{{Name: "Polish", Blocks: []string{"A", "Q"}}}, bare(), fork, &conflict, "“Polish” needs the block Q"},
		{"a part nobody can read", []Service{{Name: "Polish", Blocks: []string{"A1-x"}}}, bare(), fork, &conflict, "needs the block A1-x"},
		{"a block not in the library", services("air-spring"), map[string]Block{"A": bare()["A"], "S": bare()["S"]}, fork, &conflict, "needs the block P"},
		{"nothing to do", []Service{{Blocks: []string{"A"}}}, map[string]Block{"A": shockless}, Facts{Kind: "rear shock"}, &conflict, "no steps for a unit of this kind"},
		{"another kind of unit", []Service{{Name: "Lowers", Kinds: []string{"fork"}, Blocks: []string{"A"}}}, bare(), Facts{Kind: "rear shock"}, &conflict, "“Lowers” is not for a rear shock."},
		{"no blocks named", []Service{{Code: "empty"}}, bare(), fork, &conflict, "no steps"},
	}
	for _, c := range cases {
		steps, err := Merge(c.services, c.blocks, c.facts)
		if err == nil || !errors.As(err, c.want) || !strings.Contains(err.Error(), c.sentence) {
			t.Errorf("%s: got %v, error %v; want %T saying %q", c.name, keys(steps), err, c.want, c.sentence)
		}
	}
	for _, entry := range []string{"A if raining", "A"} {
		blocks := bare()
		blocks["A"].Steps[0].Conditions = []string{"raining"}
		if _, err := Merge([]Service{{Blocks: []string{entry}}}, blocks, fork); err == nil || !strings.Contains(err.Error(), "raining") {
			t.Errorf("%q under an unknown condition: error %v", entry, err)
		}
	}
}

func TestMergeNamesTheLegsOfTheUnit(t *testing.T) {
	blocks := map[string]Block{"A": {Code: "A", Steps: []Step{{Key: "A1", Place: "crown top-spring foot-damper wiper-left"}}}}
	for _, c := range []struct{ spring, damper, want string }{
		{"left", "right", "crown top-left foot-right wiper-left"},
		{"right", "left", "crown top-right foot-left wiper-left"},
		{"", "", "crown top-left top-right foot-left foot-right wiper-left"},
	} {
		steps, err := Merge([]Service{{Blocks: []string{"A"}}}, blocks, Facts{SpringLeg: c.spring, DamperLeg: c.damper})
		if err != nil || steps[0].Place != c.want {
			t.Errorf("spring %q, damper %q: got %v, %v; want %q", c.spring, c.damper, steps, err, c.want)
		}
	}
}

// Too much oil in the damper's leg makes one suspect the damper's seal: common
// practice (no source). Of a unit whose legs are not known, either may be it.
func TestTheDampersSealIsSuspectedInItsLegAlone(t *testing.T) {
	for leg, want := range map[string][2]bool{"left": {true, false}, "right": {false, true}, "": {true, true}} {
		f := airFork
		f.DamperLeg = leg
		for _, s := range shippedService(t, "lower-leg", f) {
			warns := strings.Contains(s.Caution, "suspect the damper’s seal")
			if side := strings.TrimPrefix(s.Key, "S9."); side == "left" && warns != want[0] || side == "right" && warns != want[1] {
				t.Errorf("damper in leg %q: %s warns %v", leg, s.Key, warns)
			}
		}
	}
}

func TestMergeGroupsOnlyWhatStandsTogether(t *testing.T) {
	var list []Step
	for i := 1; i <= 12; i++ {
		list = append(list, Step{Key: fmt.Sprint("C", i), Group: "cleaned"})
	}
	list[11].Group = "other"
	blocks := map[string]Block{"C": {Code: "C", Steps: list}, "S": numbered("S", "", 10)}
	merged, err := Merge([]Service{{Blocks: []string{"C", "S"}}}, blocks, Facts{})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, s := range merged {
		if s.Block == "C" {
			got[s.Key] = s.Group
		}
	}
	want := map[string]string{"C3": "", "C1": "C1", "C2": "C1", "C4": "C1", "C5": "C1", "C6": "C1", "C7": "C1",
		"C8": "C8", "C9": "C8", "C10": "C8", "C11": "C8", "C12": ""}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("groups after merging:\n got %v\nwant %v", got, want)
	}
}

func TestPartsOfBlocks(t *testing.T) {
	for text, want := range map[string]string{
		"W": "W1-6", "S1-5": "S1-5", "V2-3": "V2-3", "Z9": "Z9", "D1": "D1.1-13", "D1.1-8": "D1.1-8", "D2.9": "D2.9", "D1.9-99": "D1.9-13",
	} {
		steps, err := Merge([]Service{{Blocks: []string{text}}}, bare(), Facts{CameAs: "whole bike"})
		if err != nil || runs(steps) != want {
			t.Errorf("%q: got %s, %v; want %s", text, runs(steps), err, want)
		}
	}
}

func anyFacts(t *rapid.T) Facts {
	pick := func(name string, of ...string) string { return rapid.SampledFrom(of).Draw(t, name) }
	return Facts{
		Kind:       pick("kind", "", "fork", "rear shock"),
		Spring:     pick("spring", "", "air", "coil"),
		Damper:     pick("damper", "", "shared oil", "sealed", "cartridge"),
		DamperLeg:  pick("damper leg", "", "left", "right"),
		CameAs:     pick("came as", "", "unit only", "whole bike"),
		ModelKnown: rapid.Bool().Draw(t, "model known"),
	}
}

func anyServices(t *rapid.T, name string) []Service {
	codes := rapid.SliceOfN(rapid.SampledFrom([]string{
		"lower-leg", "air-spring", "open-bath", "cartridge", "full", "bushings", "crown-steerer"}), 1, 6).Draw(t, name)
	return services(codes...)
}

func mustMerge(t *rapid.T, list []Service, f Facts) []Step {
	steps, err := Merge(list, bare(), f)
	if err != nil {
		t.Fatal(err)
	}
	return steps
}

func TestMergeIsTheSameInAnyOrderAndWithDoubles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list, facts := anyServices(t, "services"), anyFacts(t)
		want := keys(mustMerge(t, list, facts))
		shuffled := rapid.Permutation(append(slices.Clone(list), list...)).Draw(t, "shuffled")
		if got := keys(mustMerge(t, shuffled, facts)); !slices.Equal(got, want) {
			t.Fatalf("doubled and shuffled:\n got %v\nwant %v", got, want)
		}
		once := slices.Clone(want)
		slices.Sort(once)
		if len(slices.Compact(once)) != len(want) {
			t.Fatalf("a step stands twice: %v", want)
		}
	})
}

// A service added at the bench only inserts lines. The one line that may move
// is C3, which goes before the lowers once they are to come off.
func TestMergeOfMoreServicesOnlyInserts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		few, more, facts := anyServices(t, "services"), anyServices(t, "added"), anyFacts(t)
		before := keys(mustMerge(t, few, facts))
		after := keys(mustMerge(t, append(slices.Clone(few), more...), facts))
		kept := slices.DeleteFunc(slices.Clone(after), func(k string) bool { return !slices.Contains(before, k) })
		if len(kept) != len(before) {
			t.Fatalf("lines were lost:\nbefore %v\n after %v", before, after)
		}
		crown := func(k string) bool { return k == "C3" }
		if !slices.Equal(slices.DeleteFunc(kept, crown), slices.DeleteFunc(before, crown)) {
			t.Fatalf("lines changed places:\nbefore %v\n after %v", before, after)
		}
	})
}

func TestMergeKeepsBlocksAndStopsInOrder(t *testing.T) {
	// Common practice (no source): what has to be signed before what, wherever
	// both stand on a sheet.
	before := [][2]string{
		{"A11", "S4"}, {"S5", "S6"}, {"S5", "P1"}, {"S5", "D1.1"}, {"S5", "D2.1"}, {"S5", "C1"}, {"S8", "W1"},
		{"C3", "S6"}, {"P1", "P8"}, {"P12", "Z1"}, {"D1.1", "D1.8"}, {"D1.8", "Z1"}, {"D2.1", "D2.12"}, {"D2.13", "Z1"},
		{"W1", "U5"}, {"U3", "U8"}, {"U9", "W4"}, {"W6", "Z1"}, {"Z1", "Z3"}, {"Z8", "V1"}, {"C6", "V2"},
		{"V1", "R3"}, {"R3", "V2"}, {"V2", "V4"}, {"R8", "V9"}, {"D1.13", "V1"},
	}
	rapid.Check(t, func(t *rapid.T) {
		facts := anyFacts(t)
		steps := keys(mustMerge(t, anyServices(t, "services"), facts))
		at := func(key string) int { return slices.Index(steps, key) }
		pairs := before
		if facts.Damper == "shared oil" {
			pairs = append(slices.Clone(pairs), [2]string{"Z8", "D1.9"})
		}
		for _, p := range pairs {
			if at(p[0]) >= 0 && at(p[1]) >= 0 && at(p[0]) > at(p[1]) {
				t.Fatalf("%s stands after %s: %v", p[0], p[1], steps)
			}
		}
	})
}
