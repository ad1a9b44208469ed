package bench

import (
	"errors"
	"maps"
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/tool"
)

func ptr[T any](v T) *T { return &v }

func typed(t *testing.T, kind quantity.Kind, text string) *quantity.Value {
	t.Helper()
	v, err := quantity.Parse(kind, text, "")
	if err != nil {
		t.Fatal(err)
	}
	return &v
}

// The steps of these tests, common practice (no source): foot bolts about
// 7.3 N·m, about 10 mL of lower-leg oil a leg, wear by grade first.
var (
	foot = Step{ID: 1, Kind: procedure.Torque, SpecKey: "foot bolt", Quantity: quantity.KindTorque,
		NominalSI: ptr(7.3), MinusSI: 0.5, PlusSI: 0.5, Source: "manual, page 41"}
	oil = Step{ID: 2, Kind: procedure.Volume, SpecKey: "lower-leg oil", Quantity: quantity.KindVolume, Fluid: "5 W lower-leg oil",
		NominalSI: ptr(10e-6), MinusSI: 1e-6, PlusSI: 1e-6, Source: "manual, page 38"}
	pressureIn = Step{ID: 3, Kind: procedure.Reading, SpecKey: "rider pressure", Quantity: quantity.KindPressure, MayBeUnknown: true}
	play       = Step{ID: 4, Kind: procedure.Check, Grades: []string{"none", "felt", "seen", "knocks"}}
	knob       = Step{ID: 5, Kind: procedure.Count, SpecKey: "rebound range", Quantity: spec.KindCount,
		NominalSI: ptr(17.0), MinusSI: 1, PlusSI: 1, Source: "manual, page 12"}
	turns  = Step{ID: 9, Kind: procedure.Count, SpecKey: "preload turns"}
	lever  = Step{ID: 10, Kind: procedure.Count, SpecKey: "lockout positions", Grades: []string{"firm", "middle", "open"}}
	washed = Step{ID: 6, Kind: procedure.Check}
	airOut = Step{ID: 7, Kind: procedure.Check, StopHere: true}
	stem   = Step{ID: 8, Kind: procedure.Check, SecondCheck: true}
)

var wrenches = []tool.Choice{
	{Tool: tool.Tool{ID: 3, Name: "Wrench 3", Kind: "click wrench"}, Usable: true},
	{Tool: tool.Tool{ID: 4, Name: "Wrench 4", Kind: "dial wrench"}, Usable: true},
	{Tool: tool.Tool{ID: 1, Name: "Wrench 1", Kind: "click wrench"}, Why: "7.3 is under a fifth of its range"},
	{Tool: tool.Tool{ID: 2, Name: "Wrench 2", Kind: "click wrench"}, Why: "It is away.", Allowed: "Ragna allows it: back today, not entered yet"},
}

func TestSettle(t *testing.T) {
	nm := func(text string) *quantity.Value { return typed(t, quantity.KindTorque, text) }
	ml := func(text string) *quantity.Value { return typed(t, quantity.KindVolume, text) }
	bare := foot
	bare.NominalSI, bare.Source = nil, ""
	ceiled := pressureIn
	ceiled.CeilingSI = ptr(typed(t, quantity.KindPressure, "120 psi").SI)
	cases := []struct {
		name   string
		step   Step
		g      Signing
		fields string // wrong fields, or empty
	}{
		{"set to the target by a click wrench", foot, Signing{Value: nm("7.3 N·m"), ToolID: 3}, ""},
		{"a click wrench in inch-pounds at 65", foot, Signing{Value: nm("65 lbf·in"), ToolID: 3}, ""},
		{"set outside the window", foot, Signing{Value: nm("8.5 N·m"), ToolID: 3}, "reason"},
		{"set outside the window, with a reason", foot, Signing{Value: nm("8.5 N·m"), ToolID: 3, Reason: "new locker"}, ""},
		{"a click wrench gives no reading", foot, Signing{Value: nm("7.3 N·m"), ToolID: 3, How: HowMeasured}, "how"},
		{"a dial wrench does", foot, Signing{Value: nm("7.3 N·m"), ToolID: 4, How: HowMeasured}, ""},
		{"a wrench that does not suit, whatever the reason", foot, Signing{Value: nm("7.3 N·m"), ToolID: 1, Reason: "wrench 3 is away"}, "tool"},
		{"the owner says why it is used", foot, Signing{Value: nm("7.3 N·m"), ToolID: 1, owner: true}, "reason"},
		{"the owner uses one that does not suit", foot, Signing{Value: nm("7.3 N·m"), ToolID: 1, Reason: "wrench 3 is away", owner: true}, ""},
		{"one that the owner allowed", foot, Signing{Value: nm("7.3 N·m"), ToolID: 2}, ""},
		{"a wrench of no list", foot, Signing{Value: nm("7.3 N·m"), ToolID: 9}, "tool"},
		{"no wrench and no value", foot, Signing{}, "tool value"},
		{"by hand though a wrench suits", foot, Signing{How: HowByHand}, "reason"},
		{"by hand, with a reason", foot, Signing{How: HowByHand, Reason: "no room for it"}, ""},
		{"a torque without a source", bare, Signing{Value: nm("7.3 N·m"), ToolID: 3}, "value"},
		{"a torque in millilitres", foot, Signing{Value: ml("7.3 mL"), ToolID: 3}, "value"},
		{"a torque never does not apply", foot, Signing{Outcome: OutcomeNot, Reason: "no"}, "outcome"},
		{"a torque is never merely seen", foot, Signing{How: HowSeen, Value: nm("7.3 N·m"), ToolID: 3}, "how"},

		{"10 mL of the named fluid", oil, Signing{Value: ml("10 mL")}, ""},
		{"12.5 mL", oil, Signing{Value: ml("12.5 mL")}, "reason"},
		{"another fluid", oil, Signing{Value: ml("10 mL"), Fluid: "10 W"}, "reason"},
		{"a volume never does not apply", oil, Signing{Outcome: OutcomeNot, Reason: "no"}, "outcome"},
		{"a volume is never unknown", oil, Signing{Outcome: OutcomeUnknown}, "outcome"},

		{"78 psi as received", pressureIn, Signing{Value: typed(t, quantity.KindPressure, "78 psi")}, ""},
		{"arrived empty", pressureIn, Signing{Value: typed(t, quantity.KindPressure, "0 psi")}, ""},
		{"unknown is an answer as received", pressureIn, Signing{Outcome: OutcomeUnknown}, ""},
		{"a reading without its value", pressureIn, Signing{}, "value"},
		{"at the maximum pressure", ceiled, Signing{Value: typed(t, quantity.KindPressure, "120 psi")}, ""},
		{"above the maximum pressure, whatever the reason", ceiled, Signing{Value: typed(t, quantity.KindPressure, "130 psi"), Reason: "heavy"}, "value"},

		{"play by grade", play, Signing{Grade: "felt"}, ""},
		{"play by a grade of no scale", play, Signing{Grade: "some"}, "grade"},
		{"play without a grade", play, Signing{}, "grade"},

		{"17 clicks", knob, Signing{Count: ptr(17.0)}, ""},
		{"12 clicks", knob, Signing{Count: ptr(12.0)}, "reason"},
		{"no clicks counted", knob, Signing{}, "count"},
		{"fewer than no clicks", knob, Signing{Count: ptr(-1.0)}, "count"},
		{"half a click", knob, Signing{Count: ptr(16.5)}, "count"},
		{"two and a half turns", turns, Signing{Count: ptr(2.5)}, ""},
		{"a turn counted too finely", turns, Signing{Count: ptr(2.3)}, "count"},
		{"a lever by the name of its position", lever, Signing{Grade: "middle"}, ""},
		{"a lever by a number", lever, Signing{Count: ptr(1.0)}, "grade"},

		{"a plain check", washed, Signing{}, ""},
		{"a plain check that does not apply", washed, Signing{Outcome: OutcomeNot, Reason: "came washed"}, ""},
		{"does not apply needs a reason", washed, Signing{Outcome: OutcomeNot}, "reason"},
		{"a stop-here always applies", airOut, Signing{Outcome: OutcomeNot, Reason: "no"}, "outcome"},
		{"so does a step with a second check", stem, Signing{Outcome: OutcomeNot, Reason: "no"}, "outcome"},
		{"a check is never unknown", washed, Signing{Outcome: OutcomeUnknown}, "outcome"},
		{"no such outcome", washed, Signing{Outcome: "perhaps"}, "outcome"},
	}
	for _, c := range cases {
		so, err := c.step.settle(c.g, wrenches)
		if got := wrong(t, err); got != c.fields {
			t.Errorf("%s: wrong fields %q (%v), want %q", c.name, got, err, c.fields)
		}
		if err == nil && so.InWindow && strings.Contains(c.name, "outside") {
			t.Errorf("%s: stored as inside the window", c.name)
		}
	}
}

// wrong names the fields of an Invalid, apart by spaces.
func wrong(t *testing.T, err error) string {
	t.Helper()
	if err == nil {
		return ""
	}
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		t.Fatalf("not about fields: %v", err)
	}
	return strings.Join(slices.Sorted(maps.Keys(invalid.Fields)), " ")
}

// Below the shop's smallest wrench a fastener is tightened by hand and signed
// as such: common practice (no source).
func TestByHandWhereNoWrenchSuits(t *testing.T) {
	large := []tool.Choice{{Tool: tool.Tool{ID: 1, Name: "Wrench 1", State: tool.InUse, RangeMinNm: 10, RangeMaxNm: 60}, Why: "7.3 is below its scale"}}
	so, err := foot.settle(Signing{How: HowByHand}, large)
	if err != nil || so.ValueSI != nil || so.ToolID != nil || so.How != HowByHand {
		t.Errorf("by hand: %+v, %v; want a sign-off without value and wrench", so, err)
	}
}

// What a life hangs on is never tightened by hand, and what only lacks a tool in
// order wants a reason: common practice (no source).
func TestByHandIsNoWayRoundAWrench(t *testing.T) {
	late := []tool.Choice{{Tool: tool.Tool{ID: 1, Name: "Wrench 1", State: tool.InUse, RangeMinNm: 2, RangeMaxNm: 15}, Why: "It has never been calibrated."}}
	if _, err := foot.settle(Signing{How: HowByHand}, late); wrong(t, err) != "reason" {
		t.Errorf("on the scale of a tool that is not in order: %v, want asked why", err)
	}
	bolt := foot
	bolt.SpecKey = "stem"
	if _, err := bolt.settle(Signing{How: HowByHand, Reason: "none at hand"}, nil); wrong(t, err) != "tool" {
		t.Errorf("the stem by hand: %v, want refused", err)
	}
}

func TestANamedPositionCountsFromClosed(t *testing.T) {
	so, err := lever.settle(Signing{Grade: "open"}, nil)
	if err != nil || so.Count == nil || *so.Count != 2 || so.Grade != "open" {
		t.Errorf("open: %+v, %v; want position 2 of firm, middle, open", so, err)
	}
}

func TestAClickWrenchIsASettingNeverAMeasurement(t *testing.T) {
	so, err := foot.settle(Signing{Value: typed(t, quantity.KindTorque, "65 lbf·in"), ToolID: 3}, wrenches)
	if err != nil {
		t.Fatal(err)
	}
	// 65 lbf·in is 7.344 N·m: NIST SP 811, Appendix B.8.
	shown, err := foot.settle(Signing{Value: typed(t, quantity.KindTorque, "7.3 N·m"), ToolID: 4}, wrenches)
	if err != nil || shown.How != HowMeasured {
		t.Errorf("a dial wrench: %q, %v; want measured", shown.How, err)
	}
	if so.How != HowSet || so.Entered != "65 lbf·in" || *so.ValueSI < 7.343 || *so.ValueSI > 7.345 {
		t.Errorf("stored %s %q %v, want set, as typed, 7.344", so.How, so.Entered, *so.ValueSI)
	}
}

func TestTheSecondCheckIsForAnotherPerson(t *testing.T) {
	step := stem
	step.Done = &Signoff{ActorID: 1, Actor: "Ines"}
	cases := []struct {
		name  string
		staff int64
		g     Signing
		alone bool
		fails bool
	}{
		{"another person", 2, Signing{}, false, false},
		{"another person is never alone", 2, Signing{Alone: true, Reason: "evening"}, false, false},
		{"the same person", 1, Signing{}, false, true},
		{"the same person alone without a reason", 1, Signing{Alone: true}, true, true},
		{"the same person alone", 1, Signing{Alone: true, Reason: "evening"}, true, false},
	}
	for _, c := range cases {
		so, err := step.settleCheck(c.g, history.By{Staff: c.staff})
		if (err != nil) != c.fails || so.Alone != c.alone {
			t.Errorf("%s: alone %v, %v; want alone %v, refused %v", c.name, so.Alone, err, c.alone, c.fails)
		}
	}
}

func TestSignedTogether(t *testing.T) {
	plain := func(n int) []*Step {
		var list []*Step
		for i := range n {
			list = append(list, &Step{Seq: i + 1, Block: "A", Kind: procedure.Check})
		}
		return list
	}
	cases := []struct {
		name string
		list []*Step
		ok   bool
	}{
		{"six plain lines of one block", plain(6), true},
		{"seven", plain(7), false},
		{"with a torque", append(plain(1), &foot), false},
		{"with a volume", append(plain(1), &oil), false},
		{"with a stop-here", append(plain(1), &airOut), false},
		{"with a second check", append(plain(1), &stem), false},
		{"of two blocks", append(plain(1), &Step{Block: "S", Kind: procedure.Check}), false},
	}
	for _, c := range cases {
		if err := refuseTogether(c.list); (err == nil) != c.ok {
			t.Errorf("%s: %v, want allowed %v", c.name, err, c.ok)
		}
	}
}

func TestGivenValues(t *testing.T) {
	bare := func(key string, kind procedure.Kind, q quantity.Kind) Step {
		return Step{Kind: kind, SpecKey: key, Quantity: q}
	}
	bolt := bare("foot bolt", procedure.Torque, quantity.KindTorque)
	stemBolt := bare("stem", procedure.Torque, quantity.KindTorque)
	leg := bare("lower-leg oil", procedure.Volume, quantity.KindVolume)
	from := func(kind, words, value string, q quantity.Kind) Giving {
		return Giving{SourceKind: kind, Source: words, Value: *typed(t, q, value)}
	}
	with := func(g Giving, change func(*Giving)) Giving { change(&g); return g }
	cases := []struct {
		name   string
		step   Step
		g      Giving
		fields string
	}{
		{"from the document", bolt, from("document", "manual, page 41", "7.3 N·m", quantity.KindTorque), ""},
		{"a document without its name", bolt, from("document", " ", "7.3 N·m", quantity.KindTorque), "source"},
		{"judgement by comparison", bolt, from("judgement", "the same foot with 7.3", "7.3 N·m", quantity.KindTorque), ""},
		{"judgement without what it is compared with", bolt, from("judgement", "", "7.3 N·m", quantity.KindTorque), "source"},
		{"judgement for a stem", stemBolt, from("judgement", "another stem", "5 N·m", quantity.KindTorque), "source_kind"},
		{"a torque measured", bolt, from("measured", "with the wrench", "7.3 N·m", quantity.KindTorque), "source_kind"},
		{"a stem measured", stemBolt, from("measured", "with the wrench", "5 N·m", quantity.KindTorque), "source_kind"},
		{"no source", bolt, from("", "", "7.3 N·m", quantity.KindTorque), "source_kind"},
		{"73 for 7.3", bolt, from("document", "manual", "73 N·m", quantity.KindTorque), "confirm"},
		{"73, meant", bolt, with(from("document", "manual", "73 N·m", quantity.KindTorque), func(g *Giving) { g.Confirmed = true }), ""},
		{"a window under zero", bolt, with(from("document", "manual", "7.3 N·m", quantity.KindTorque), func(g *Giving) { g.MinusSI = 8 }), "window"},
		{"an amount without its fluid", leg, from("measured", "", "10 mL", quantity.KindVolume), "fluid"},
		{"an amount", leg, with(from("measured", "", "10 mL", quantity.KindVolume), func(g *Giving) { g.Fluid = "5 W" }), ""},
	}
	for _, c := range cases {
		if got := wrong(t, c.step.refuseValue(c.g)); got != c.fields {
			t.Errorf("%s: wrong fields %q, want %q", c.name, got, c.fields)
		}
	}
}
