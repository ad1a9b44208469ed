package procedure

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
)

func shippedBlock(code string) Block {
	blocks, _ := shippedBlocks()
	b := blocks[code]
	b.Steps = slices.Clone(b.Steps)
	return b
}

func TestWhatIsShippedHasNoFaults(t *testing.T) {
	blocks, services := Shipped()
	for _, s := range services {
		if list := s.faults(services); len(list) > 0 {
			t.Errorf("service %s: %q", s.Code, list)
		}
	}
	for _, b := range blocks {
		if list := BlockFaults(b, b, b); len(list) > 0 {
			t.Errorf("block %s: %q", b.Code, list)
		}
	}
}

// What the shop may and may not make of a shipped step: what guards people stays.
func TestWhatTheShopMayWriteIntoAStep(t *testing.T) {
	for _, c := range []struct {
		name, key string
		change    func(*Step)
		refused   string // the field; empty: taken
	}{
		{"reworded", "S5", func(s *Step) { s.Title, s.Text, s.Caution = "Air out", "Let it out. It is right at zero.", "Eyes." }, ""},
		{"no title", "W1", func(s *Step) { s.Title = "" }, "title"},
		{"a long title", "W1", func(s *Step) { s.Title = strings.Repeat("x", 61) }, "title"},
		{"no text", "W1", func(s *Step) { s.Text = "" }, "text"},
		{"a long text", "W1", func(s *Step) { s.Text = strings.Repeat("x", 1001) }, "text"},
		{"a shipped caution gone", "W1", func(s *Step) { s.Caution = "" }, "caution"},
		{"a caution more", "W3", func(s *Step) { s.Caution = "Mind the edge." }, ""},
		{"another kind", "W3", func(s *Step) { s.Kind = Wait }, "kind"},
		{"a stop-here gone", "S5", func(s *Step) { s.StopHere = false }, "stop"},
		{"a stop-here more", "W3", func(s *Step) { s.StopHere = true }, ""},
		{"a second check gone", "R9.axle", func(s *Step) { s.SecondCheck = false }, "second"},
		{"a second check more", "Z7", func(s *Step) { s.SecondCheck = true }, ""},
		{"a stop-here that is never asked", "P8", func(s *Step) { s.Conditions = append(slices.Clone(s.Conditions), "whole bike") }, "condition"},
		{"a check of whole bikes only", "W3", func(s *Step) { s.Conditions = append(slices.Clone(s.Conditions), "whole bike") }, ""},
		{"a condition and its opposite", "W3", func(s *Step) { s.Conditions = []string{"air", "not air"} }, "condition"},
		{"the same twice", "W3", func(s *Step) { s.Conditions = []string{"air", "air"} }, "condition"},
		{"a condition nobody knows", "W3", func(s *Step) { s.Conditions = []string{"raining"} }, "condition"},
		{"a torque without its key", "P11", func(s *Step) { s.SpecKey = "" }, "spec"},
		{"a torque by an amount", "P11", func(s *Step) { s.SpecKey = "air-side oil" }, "spec"},
		{"a torque by another torque", "P11", func(s *Step) { s.SpecKey = "top cap" }, ""},
		{"a foot by another torque", "Z7", func(s *Step) { s.SpecKey = "axle" }, "spec"},
		{"an amount without its key", "P9", func(s *Step) { s.SpecKey = "" }, "spec"},
		{"a check that reads a torque", "W3", func(s *Step) { s.SpecKey = "axle" }, "spec"},
		{"a value nobody states", "V1", func(s *Step) { s.SpecKey = "colour" }, "spec"},
		{"verdicts of its own", "V9", func(s *Step) { s.Grades = playGrades }, "scale"},
		{"answers for a torque", "Z7", func(s *Step) { s.Grades = playGrades }, "scale"},
		{"answers of no scale", "W3", func(s *Step) { s.Grades = []string{"yes", "no"} }, "scale"},
		{"answers of a scale", "W3", func(s *Step) { s.Grades = playGrades }, ""},
		{"a place that is not on the drawing", "W3", func(s *Step) { s.Place = "saddle" }, "place"},
		{"places by the leg", "W3", func(s *Step) { s.Place = "foot-spring top-damper crown" }, ""},
		{"minutes of a wait", "V4", func(s *Step) { s.Minutes = 30 }, ""},
		{"minutes of a check", "W3", func(s *Step) { s.Minutes = 5 }, "minutes"},
		{"three days", "V4", func(s *Step) { s.Minutes = 4320 }, "minutes"},
		{"fasteners of a torque", "R5", func(s *Step) { s.Fasteners = 4 }, ""},
		{"fasteners of a check", "W3", func(s *Step) { s.Fasteners = 4 }, "fasteners"},
		{"a check that may be unknown", "W3", func(s *Step) { s.MayBeUnknown = true }, "unknown"},
	} {
		b := shippedBlock(strings.TrimRight(strings.SplitN(c.key, ".", 2)[0], "0123456789"))
		shipped := byKey(b.Steps, c.key)
		s := *shipped
		c.change(&s)
		f := s.faults(shipped)
		if _, refused := f[c.refused]; refused != (c.refused != "") || c.refused == "" && len(f) > 0 || len(f) > 1 {
			t.Errorf("%s: refused by %v, want %q", c.name, f, c.refused)
		}
	}
	if f := (Step{Key: "W3.own1", Kind: Torque, Title: "Torque", Text: "Turn."}).faults(nil); f["spec"] == "" {
		t.Error("a torque of the shop's own needs no key")
	}
}

// What may leave a block, what may come before what, and what one press may
// sign: at most six plain lines that stand together.
func TestWhatTheShopMayMakeOfABlock(t *testing.T) {
	without := func(key string) func(b *Block) {
		return func(b *Block) { b.Steps = slices.DeleteFunc(b.Steps, func(s Step) bool { return s.Key == key }) }
	}
	to := func(key string, to int) func(b *Block) {
		return func(b *Block) { b.Steps = Moved(b.Steps, key, to) }
	}
	together := func(keys ...string) func(b *Block) {
		return func(b *Block) { b.Steps = Grouped(b.Steps, keys, true) }
	}
	for _, c := range []struct {
		name, block string
		change      func(*Block)
		refused     string // begins so; empty: taken
	}{
		{"a check goes", "W", without("W3"), ""},
		{"a stop-here goes", "P", without("P8"), "“Ring seated, shaft pulled hard” stays in its block"},
		{"a second check goes", "R", without("R9.brake"), "“Brake mounted and working” stays"},
		{"what other steps pair with goes", "V", without("V2"), "“Charge and read the pressure as returned” stays"},
		{"a step moves within its part", "W", to("W3", 1), ""},
		{"out of its part", "W", to("W4", 1), "“Soak the foams and fit them” belongs to a later part of the sheet"},
		{"before its stop-here", "P", to("P11", 1), "“Torque the cap of the spring leg” comes after"},
		{"a stop-here comes sooner", "P", to("P8", 3), ""},
		{"six together", "W", together("W1", "W2", "W3", "W4", "W5", "W6"), ""},
		{"seven together", "A", together("A1", "A2", "A3", "A4", "A5.preload", "A5.rebound", "A5.compression"), "More than 6 lines"},
		{"a torque among them", "Z", together("Z6", "Z7"), "“Torque the foot, rider’s left” is signed on its own"},
		{"a stop-here among them", "Z", together("Z1", "Z2"), "“Right parts in the right legs” is signed on its own"},
		{"apart from each other, which parts them", "W", together("W1", "W3"), ""},
	} {
		b := shippedBlock(c.block)
		c.change(&b)
		list := BlockFaults(b, shippedBlock(c.block), shippedBlock(c.block))
		if c.refused == "" && len(list) > 0 || c.refused != "" && !slices.ContainsFunc(list, func(s string) bool { return strings.HasPrefix(s, c.refused) }) {
			t.Errorf("%s: %q, want %q", c.name, list, c.refused)
		}
	}
}

// Wherever a step is moved that is let, every sheet keeps its stop-heres before
// what they guard.
func TestMovesThatAreLetKeepTheGuards(t *testing.T) {
	blocks, services := shippedBlocks()
	codes := []string{"A", "S", "P", "D1", "D2", "U", "C", "W", "Z", "V", "R"}
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.SampledFrom(codes).Draw(t, "block")
		b := shippedBlock(code)
		key := rapid.SampledFrom(keys(b.Steps)).Draw(t, "step")
		b.Steps = Moved(b.Steps, key, rapid.IntRange(1, len(b.Steps)).Draw(t, "to"))
		if len(BlockFaults(b, blocks[code], blocks[code])) > 0 {
			return
		}
		changed := map[string]Block{}
		for c, other := range blocks {
			changed[c] = other
		}
		changed[code] = b
		full := slices.DeleteFunc(slices.Clone(services), func(s Service) bool { return s.Code != "full" && s.Code != "bushing" })
		f := airFork
		f.CameAs = "whole bike"
		steps, err := Merge(full, changed, f)
		if err != nil {
			t.Fatal(err)
		}
		shipped, _ := Merge(full, blocks, f)
		for i, s := range shipped {
			at := indexOf(steps, s.Key)
			for _, stop := range shipped[:i] {
				if stop.StopHere && indexOf(steps, stop.Key) > at {
					t.Fatalf("%s moved: %s stands before %s", key, s.Key, stop.Key)
				}
			}
		}
	})
}

func TestKeysOfTheShopsOwnSteps(t *testing.T) {
	for _, c := range []struct{ block, after, want string }{
		{"W", "W3", "W3.own1"}, {"D1", "D1.9.sealed", "D1.9.own1"}, {"A", "A5.rebound", "A5.own1"}, {"D2", "D2.10", "D2.10.own1"}, {"W", "W3.own1", "W3.own2"},
	} {
		b := shippedBlock(c.block)
		if strings.Contains(c.after, ".own") {
			b.Steps = append(b.Steps, Step{Block: c.block, Key: c.after})
		}
		got := OwnKey(b, c.after)
		if n := (Step{Block: c.block, Key: got}).Number(); got != c.want || n != (Step{Block: c.block, Key: c.after}).Number() {
			t.Errorf("behind %s: %q, number %d, want %q", c.after, got, n, c.want)
		}
	}
}

func TestDifferencesOfTwoRevisions(t *testing.T) {
	before := shippedBlock("W").Steps
	after := Moved(before, "W6", 1)
	after = slices.DeleteFunc(after, func(s Step) bool { return s.Key == "W2" })
	after = slices.Insert(after, 2, Step{Key: "W1.own1", Title: "Blow dry"})
	byKey(after, "W5").Text, byKey(after, "W5").Caution = "Otherwise.", "Mind."
	var got []string
	for _, d := range Differences(before, after) {
		switch {
		case d.Before == nil:
			got = append(got, "+"+d.Key)
		case d.After == nil:
			got = append(got, "-"+d.Key)
		default:
			got = append(got, d.Key+": "+strings.Join(d.What, ", "))
		}
	}
	slices.Sort(got)
	want := []string{"+W1.own1", "-W2", "W5: its text, its caution", "W6: its place in the block"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if list := Differences(before, before); len(list) > 0 {
		t.Errorf("of itself it differs by %+v", list)
	}
}

// A draft becomes what sheets take; what was stays readable and as it was.
func TestADraftFromItsBeginningToItsForce(t *testing.T) {
	ctx, tx, _ := install(t)
	owner := dbtest.By(t, tx, "owner")
	version := func() int {
		t.Helper()
		d, err := InState(ctx, tx, "W", StateDraft)
		if err != nil {
			t.Fatal(err)
		}
		return d.Version
	}
	try := func(want string, do func() error) {
		t.Helper()
		save, err := tx.Begin(ctx)
		if err != nil {
			t.Fatal(err)
		}
		err = do()
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("got %v, want %q", err, want)
		}
		if err != nil {
			_ = save.Rollback(ctx)
			return
		}
		_ = save.Commit(ctx)
	}
	try("Only an owner", func() error { return BeginDraft(ctx, tx, dbtest.By(t, tx, "mechanic"), "W") })
	try("There is no such revision", func() error { return BeginDraft(ctx, tx, owner, "Y") })
	try("", func() error { return BeginDraft(ctx, tx, owner, "W") })
	try("already", func() error { return BeginDraft(ctx, tx, owner, "W") })
	try("changes nothing yet", func() error { return PutInForce(ctx, tx, owner, "W", version(), "none") })
	own := Step{Kind: Wait, Minutes: 20, Title: "Let the casting dry", Text: "Stand it up. It is right when it is dry."}
	try("Choose the step it comes after", func() error { return PutStep(ctx, tx, owner, "W", version(), own, "Q9") })
	try("", func() error { return PutStep(ctx, tx, owner, "W", version(), own, "W2") })
	// As a form brings it, which knows the key alone.
	try("", func() error {
		draft, err := InState(ctx, tx, "W", StateDraft)
		if err != nil {
			return err
		}
		reworded := *draft.Step("W5")
		reworded.Block, reworded.Title = "", "Drive the wipers flush"
		return PutStep(ctx, tx, owner, "W", version(), reworded, "")
	})
	try("", func() error { return PutStep(ctx, tx, owner, "W", version(), own, "W5") })
	try("", func() error { return RemoveStep(ctx, tx, owner, "W", version(), "W5.own1") })
	try("changed meanwhile", func() error { return MoveStep(ctx, tx, owner, "W", version()-1, "W2.own1", 1) })
	try("belongs to a later part", func() error { return MoveStep(ctx, tx, owner, "W", version(), "W4", 1) })
	try("", func() error { return MoveStep(ctx, tx, owner, "W", version(), "W2.own1", 2) })
	try("stays in its block", func() error { return RemoveStep(ctx, tx, owner, "W", version(), "W5") })
	try("", func() error { return RemoveStep(ctx, tx, owner, "W", version(), "W3") })
	try("follow each other", func() error { return GroupSteps(ctx, tx, owner, "W", version(), []string{"W1", "W2"}, true) })
	try("at least two", func() error { return GroupSteps(ctx, tx, owner, "W", version(), []string{"W1"}, true) })
	try("", func() error { return GroupSteps(ctx, tx, owner, "W", version(), []string{"W1", "W2.own1", "W2"}, true) })
	try("what changes and why", func() error { return PutInForce(ctx, tx, owner, "W", version(), " ") })
	try("", func() error { return PutInForce(ctx, tx, owner, "W", version(), "Castings were put together wet.") })
	try("no draft any more", func() error {
		_, err := tx.Exec(ctx, "update step set title = 'x' where block_id = (select id from block where code = 'W' and state = 'current')")
		return db.Translate(err)
	})
	now, err := InState(ctx, tx, "W", StateCurrent)
	if err != nil || strings.Join(keys(now.Steps), " ") != "W1 W2.own1 W2 W4 W5 W6" || now.Words != "Castings were put together wet." || now.PutBy == "" {
		t.Errorf("in force: %v %q by %q, %v", keys(now.Steps), now.Words, now.PutBy, err)
	}
	was, err := Numbered(ctx, tx, "W", lowers.Revision)
	if err != nil || was.State != StatePast || len(was.Steps) != len(lowers.Steps) {
		t.Errorf("before it: %s with %d steps, %v", was.State, len(was.Steps), err)
	}
	list, err := Revisions(ctx, tx, "W")
	if err != nil || len(list) != 2 || list[0].ID != now.ID {
		t.Errorf("%d revisions, %v", len(list), err)
	}
}

// A newer shipped text waits beside the shop's own, and is taken by one press.
func TestAShippedTextWaitsBesideTheShopsOwn(t *testing.T) {
	ctx, tx, by := install(t)
	owner := dbtest.By(t, tx, "owner")
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(BeginDraft(ctx, tx, owner, "S"))
	must(RemoveStep(ctx, tx, owner, "S", 1, "S4"))
	must(PutInForce(ctx, tx, owner, "S", 2, "Forks come washed."))
	newer := shippedBlock("S")
	for range 2 { // a second one takes the place of the first
		newer.Revision++
		newer.Steps[0].Title += ", again"
		newer.Steps = append(newer.Steps, Step{Key: fmt.Sprintf("S10.new%d", newer.Revision), Kind: Check, Title: "A guard that came", Text: "Look.", StopHere: true})
		must(installBlock(ctx, tx, by, newer))
		must(installBlock(ctx, tx, by, newer))
	}
	now, err := InState(ctx, tx, "S", StateCurrent)
	must(err)
	offered, err := InState(ctx, tx, "S", StateOffered)
	must(err)
	if now.Shipped != 0 || byKey(now.Steps, "S4") != nil || offered.Shipped != newer.Revision || offered.Steps[0].Title != newer.Steps[0].Title {
		t.Errorf("in force %+v, offered %+v", now.Revision, offered.Revision)
	}
	if err := TakeShipped(ctx, tx, owner, "S", offered.Revision-1); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("another one: %v", err)
	}
	must(BeginDraft(ctx, tx, owner, "S"))
	must(RemoveStep(ctx, tx, owner, "S", 1, "S2"))
	if err := PutInForce(ctx, tx, owner, "S", 2, "No pictures."); err == nil || !strings.Contains(err.Error(), "came with a newer shipped text") {
		t.Errorf("without the guard that came: %v", err)
	}
	must(DropDraft(ctx, tx, owner, "S", 2))
	must(TakeShipped(ctx, tx, owner, "S", offered.Revision))
	if now, err = InState(ctx, tx, "S", StateCurrent); err != nil || now.ID != offered.ID {
		t.Errorf("in force is revision %d, %v; want the one taken", now.Revision, err)
	}
	must(Install(ctx, tx, by))
	if again, err := InState(ctx, tx, "S", StateCurrent); err != nil || again.ID != now.ID {
		t.Errorf("another start changed it: %+v, %v", again.Revision, err)
	}
}
