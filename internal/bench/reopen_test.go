package bench

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// merged is the sheet of an air fork as the shipped services make it.
func merged(t *testing.T, damper, cameAs string, services ...string) []procedure.Step {
	t.Helper()
	blocks, offered := procedure.Shipped()
	byCode := map[string]procedure.Block{}
	for _, b := range blocks {
		byCode[b.Code] = b
	}
	offered = slices.DeleteFunc(offered, func(s procedure.Service) bool { return !slices.Contains(services, s.Code) })
	steps, err := procedure.Merge(offered, byCode, procedure.Facts{Kind: "fork", Spring: "air", Damper: damper, SpringLeg: "left", DamperLeg: "right",
		Adjusters: []string{"rebound"}, CameAs: cameAs, Axle: "threaded", Brake: "disc", Crowns: "one", ModelKnown: true,
		Stated: []string{"cartridge from the top"}, StatedNone: []string{"damper gas", "floating piston depth"}})
	if err != nil {
		t.Fatal(err)
	}
	return steps
}

// sheetOf has the steps on a sheet, signed as far as the one of that key.
func sheetOf(steps []procedure.Step, upTo string) Sheet {
	sheet := Sheet{Job: job.Job{ID: 1, Stage: job.OnBench}}
	for i, s := range steps {
		sheet.Steps = append(sheet.Steps, Step{ID: int64(i + 1), Seq: i + 1, Asked: true, Rank: float64(i + 1), Block: s.Block, Key: s.Key, Kind: s.Kind,
			Title: s.Title, StopHere: s.StopHere, SecondCheck: s.SecondCheck})
	}
	for i, s := range steps {
		if upTo == "" {
			break
		}
		sheet.give(s.Key)
		if sheet.Steps[i].SecondCheck {
			sheet.give(s.Key + "*")
		}
		if s.Key == upTo {
			break
		}
	}
	return sheet
}

// What added work undoes: common practice (no source).
func TestWhatAddedWorkUndoes(t *testing.T) {
	cases := []struct {
		name           string
		damper, cameAs string
		had, added     string
		upTo           string
		want           string
	}{
		{"half way, nothing is closed yet", "cartridge", "unit only", "lower-leg", "air-spring", "W3", ""},
		{"nothing signed", "cartridge", "unit only", "lower-leg", "air-spring", "", ""},
		{"legs checked, lowers not on", "cartridge", "unit only", "lower-leg", "air-spring", "Z1", "Z1"},
		{"lowers part-way", "cartridge", "unit only", "lower-leg", "air-spring", "Z2", "S8 Z1 Z2"},
		{"feet started", "cartridge", "unit only", "lower-leg", "air-spring", "Z6", "S7 S8 Z1 Z2 Z3 Z4 Z5 Z6"},
		{"closed", "cartridge", "unit only", "lower-leg", "air-spring", "Z9", "S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9"},
		{"air out in the final check", "cartridge", "unit only", "lower-leg", "air-spring", "V1", "S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9 V1"},
		{"charged", "cartridge", "unit only", "lower-leg", "air-spring", "V3.rebound",
			"S5 S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9 V1 V2 V3.rebound"},
		{"shared oil, filled again", "shared oil", "unit only", "lower-leg", "air-spring", "D1.13",
			"S6 S7 S8 D1.2 Z1 Z2 Z3 Z5 Z6 Z7 Z8 Z9 D1.9 D1.10 D1.11 D1.12 D1.13"},
		{"shared oil, cap not on", "shared oil", "unit only", "lower-leg", "air-spring", "D1.9",
			"S6 S7 S8 Z1 Z2 Z3 Z5 Z6 Z7 Z8 Z9 D1.9"},
		{"back in the bike", "cartridge", "whole bike", "lower-leg", "air-spring", "V9",
			"S1 S3 S5 S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9 V1 R1 R2 R3 V2 V3.rebound R4 R5 R6 R7 R8 " +
				"R9.stem R9.stem* R9.axle R9.axle* R9.brake R9.brake* R10 V4 V5 V6 V7 V8 V9"},
		{"work outside, charged", "cartridge", "unit only", "lower-leg", "other", "V3.rebound", "S5 V1 V2 V3.rebound"},
		{"work outside, not charged", "cartridge", "unit only", "lower-leg", "other", "V1", "V1"},
		{"work outside, closed", "cartridge", "unit only", "lower-leg", "other", "Z9", ""},
		{"damper of a cartridge fork, closed", "cartridge", "unit only", "lower-leg", "damper", "Z9", "S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9"},
		{"damper of a fork with shared oil, oil out", "shared oil", "unit only", "lower-leg", "damper", "W6", ""},
		{"damper of a fork with shared oil, filled", "shared oil", "unit only", "lower-leg", "damper", "D1.12",
			"S6 S7 S8 D1.2 Z1 Z2 Z3 Z5 Z6 Z7 Z8 Z9 D1.9 D1.10 D1.11 D1.12"},
		{"damper of a sealed fork, charged", "sealed", "unit only", "air-spring", "damper", "V3.rebound",
			"S5 S6 S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8 Z9 V1 V2 V3.rebound"},
		{"cartridge with the lowers on, closed and proved", "cartridge", "unit only", "lower-leg", "cartridge", "V3.rebound", "S5 S6 Z9 V1 V2 V3.rebound"},
		{"lowers off after a cartridge with the lowers on", "cartridge", "unit only", "cartridge", "lower-leg", "V3.rebound", "S5 S6 Z9 V1 V2 V3.rebound"},
		{"bushings before the new wipers", "cartridge", "unit only", "lower-leg", "bushing", "W3", ""},
		{"bushings after the new wipers", "cartridge", "unit only", "lower-leg", "bushing", "W6", "W1 W4 W5 W6"},
		{"bushings after the close", "cartridge", "unit only", "lower-leg", "bushing", "Z8", "S7 S8 W1 W4 W5 W6 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8"},
		{"crown and steerer while it is open", "cartridge", "unit only", "lower-leg", "crown-steerer", "W3", ""},
		{"crown and steerer of a closed fork", "cartridge", "unit only", "lower-leg", "crown-steerer", "Z9", ""},
		{"crown and steerer of a charged fork", "cartridge", "unit only", "lower-leg", "crown-steerer", "V2", "S5 V1 V2"},
		{"crown and steerer, back in the bike", "cartridge", "whole bike", "lower-leg", "crown-steerer", "R8",
			"S1 S3 S5 V1 R1 R2 R3 V2 V3.rebound R4 R5 R6 R7 R8"},
		{"full after lower legs", "sealed", "unit only", "lower-leg", "full", "Z8", "S7 S8 Z1 Z2 Z3 Z4 Z5 Z6 Z7 Z8"},
		{"a strip goes on as a service", "cartridge", "unit only", "strip", "air-spring", "V9", "V8 V9"},
		{"the fork comes apart after other work", "cartridge", "unit only", "other", "lower-leg", "V3.rebound", "V2 V3.rebound"},
	}
	for _, c := range cases {
		before := merged(t, c.damper, c.cameAs, c.had)
		sheet := sheetOf(before, c.upTo)
		added := slices.DeleteFunc(merged(t, c.damper, c.cameAs, c.had, c.added), func(s procedure.Step) bool { return sheet.ByKey(s.Key) != nil })
		if len(added) == 0 {
			t.Fatalf("%s: nothing is added", c.name)
		}
		if got := keysOf(sheet, sheet.UndoneBy(added)); !slices.Equal(got, strings.Fields(c.want)) {
			t.Errorf("%s:\n got %v\nwant %s", c.name, got, c.want)
		}
	}
}

// A look before washing undoes nothing; what is filled before the lowers are on
// stays filled: common practice (no source).
func TestWhatAddedWorkLeaves(t *testing.T) {
	look := []procedure.Step{{Block: "A", Key: "A9"}}
	closed := sheetOf(merged(t, "cartridge", "unit only", "lower-leg"), "V9")
	if got := keysOf(closed, closed.UndoneBy(look)); got != nil {
		t.Errorf("a look undoes %v", got)
	}
	sealed := Sheet{Steps: []Step{{ID: 1, Seq: 1, Block: "D1", Key: "D1.9.sealed"}, {ID: 2, Seq: 2, Block: "D1", Key: "D1.12"}, {ID: 3, Seq: 3, Block: "Z", Key: "Z1"}}}
	sealed.give("D1.9.sealed")
	sealed.give("D1.12")
	if got := keysOf(sealed, sealed.UndoneBy([]procedure.Step{{Block: "P", Key: "P1"}})); got != nil {
		t.Errorf("an air spring undoes the other leg’s %v", got)
	}
	if got := keysOf(closed, closed.UndoneBy([]procedure.Step{{Block: "S", Key: "S4"}})); got == nil || slices.Contains(got, "Z1") {
		t.Errorf("a wash undoes %v, want the final check and not the closing", got)
	}
}

func TestAddedStepsComeBetween(t *testing.T) {
	sheet := sheetOf(merged(t, "cartridge", "unit only", "lower-leg"), "")
	for round, service := range []string{"air-spring", "other"} {
		var services []string
		if services = []string{"lower-leg", "air-spring"}; round == 1 {
			services = append(services, service)
		}
		want := merged(t, "cartridge", "unit only", services...)
		var list []filled
		for _, s := range want {
			list = append(list, filled{Step: s})
		}
		for _, f := range sheet.lacking(list) {
			sheet.Steps = append(sheet.Steps, Step{Asked: true, Block: f.Block, Key: f.Key, Rank: f.rank})
		}
		slices.SortFunc(sheet.Steps, func(a, b Step) int {
			switch {
			case a.Rank < b.Rank:
				return -1
			case a.Rank > b.Rank:
				return 1
			}
			t.Errorf("%s and %s have one place", a.Key, b.Key)
			return 0
		})
		for i, s := range want {
			if i >= len(sheet.Steps) || sheet.Steps[i].Key != s.Key {
				t.Fatalf("%s added: line %d is not %s", service, i+1, s.Key)
			}
		}
		if again := sheet.lacking(list); again != nil {
			t.Errorf("%s: %d steps are lacking still", service, len(again))
		}
	}
}

// What the rules of the bench lean on stays in its block whatever the shop
// makes of it.
func TestTheStepsThatRulesLeanOnStay(t *testing.T) {
	list := []string{keyPressureIn, keyPressureOut, keyNote, keyFootLowersOn, keyKnobOn, "Z7", "S8"}
	for torque, check := range rechecked {
		list = append(list, torque, check)
	}
	for closing, openings := range reopens {
		list = append(append(list, closing), strings.Fields(openings)...)
	}
	blocks, _ := procedure.Shipped()
	shipped := map[string]procedure.Step{}
	for _, b := range blocks {
		for _, s := range b.Steps {
			shipped[s.Key] = s
			if strings.HasPrefix(s.Key, keyAdjusterIn) || strings.HasPrefix(s.Key, keyAdjusterOut) {
				list = append(list, s.Key)
			}
		}
	}
	for _, key := range list {
		step := shipped[key]
		if step.Key == "" || !step.Stays() {
			t.Errorf("%s may be taken out of its block", key)
		}
	}
}
