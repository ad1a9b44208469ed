package web

import (
	"fmt"
	"math"
	"strconv"

	"damperdesk/internal/bench"
	"damperdesk/internal/quantity"
	"damperdesk/internal/tool"
	"damperdesk/internal/torque"
	"damperdesk/templates"
)

func armFields(a asking) ([]templates.CalculatorField, error) {
	tools, err := tool.List(a.ctx, a.app.pool)
	if err != nil {
		return nil, err
	}
	options := []templates.Option{{Value: "", Label: "any"}}
	for _, t := range tools {
		if t.State == tool.InUse {
			options = append(options, templates.Option{Value: strconv.FormatInt(t.ID, 10), Label: t.Name + ", " + t.Span()})
		}
	}
	return []templates.CalculatorField{
		input("torque", "Torque at the fastener", string(a.prefs.Unit(quantity.KindTorque)), "", ""),
		{Field: templates.Field{Name: "tool", Label: "Wrench"}, Options: options},
		input("length", "Wrench, square to the middle of the grip", "mm", "", "Where the hand pulls."),
		input("extension", "Extension, square to fastener", "mm", "0", ""),
		input("angle", "Angle of the extension", "degrees", "0", "0 goes on in line with the handle, 90 stands across it, 180 points back."),
	}, nil
}

// Between which torques, in N·m, a bicycle has something to tighten.
const leastTorque, mostTorque = 0.1, 500

func armAnswer(a asking) (*templates.Answer, error) {
	unit := a.prefs.Unit(quantity.KindTorque)
	nm := a.need("torque", quantity.KindTorque, unit)
	arm := torque.Arm{
		Length:    1000 * a.need("length", quantity.KindLength, quantity.Millimetre),
		Extension: 1000 * a.or("extension", quantity.KindLength, quantity.Millimetre, 0),
		Angle:     a.numberOr("angle", 0),
	}
	a.between("torque", nm, leastTorque, mostTorque, "a torque from "+a.prefs.Torque(leastTorque)+" to "+a.prefs.Torque(mostTorque))
	a.between("length", arm.Length, 20, 2000, "a length from 20 to 2000 mm")
	a.between("extension", arm.Extension, 0, 2000, "a length from 0 to 2000 mm")
	var chosen *tool.Tool
	if id := a.number("tool"); id != 0 && a.err() == nil {
		t, err := tool.Get(a.ctx, a.app.pool, id)
		if err != nil {
			return nil, err
		}
		chosen = &t
	}
	if a.err() != nil {
		return nil, nil
	}
	set, err := arm.Setting(nm)
	if err != nil {
		return nil, refused(err)
	}
	if set > mostTorque {
		a.wrong("extension", "Pointing back so far it leaves the wrench next to no lever.")
		return nil, nil
	}
	answer := &templates.Answer{
		Formula: fmt.Sprintf("Setting = torque × length ÷ (length + extension × cos angle) = %s × %s ÷ (%s + %s × cos %s°).",
			quantity.Format(quantity.KindTorque, nm, unit), digits(arm.Length, 6), digits(arm.Length, 6), digits(arm.Extension, 6), digits(arm.Angle, 6)),
		Source: "FAA AC 43.13-1B, 7-40; the cosine from US Army TM 9-254.",
		Limits: "Pull at the middle of the grip, square to the handle: anywhere else the length is another one. A wrench is no more exact with an extension than without.",
	}
	answer.Lines = []templates.AnswerLine{{Term: "Set the wrench to", Words: quantity.Format(quantity.KindTorque, set, unit),
		Note: quantity.Format(quantity.KindTorque, set, a.prefs.OtherUnit(quantity.KindTorque)) + "; " + bench.ShowSetting(set, unit) + " unrounded"}}
	if chosen != nil {
		lines, err := settingOf(a, *chosen, arm, set)
		if err != nil {
			return nil, err
		}
		answer.Lines = append(answer.Lines, lines...)
	}
	return answer, nil
}

// settingOf is the setting on the scale of one of the shop’s tools: its nearest
// mark, and what that brings at the fastener; outside its scale only why not.
func settingOf(a asking, t tool.Tool, arm torque.Arm, set float64) ([]templates.AnswerLine, error) {
	figures := t.Figures()
	mark := math.Round(set/figures.Step) * figures.Step
	if !bench.Clicks(t) || mark <= 0 {
		mark = set
	}
	var lines []templates.AnswerLine
	if c := tool.Choices([]tool.Tool{t}, set, 0, 0, a.today)[0]; !c.Usable {
		lines = append(lines, templates.AnswerLine{Term: "But", Words: c.Why, Warning: true})
	}
	const noise = 1e-9
	if mark < figures.Min*(1-noise) || mark > figures.Max*(1+noise) {
		return lines, nil // it has no such mark
	}
	applied, err := arm.Applied(mark)
	if err != nil {
		return nil, refused(err)
	}
	share, from := t.Deviation()
	low, high := torque.Span(applied, share)
	unit := a.prefs.Unit(quantity.KindTorque)
	return append([]templates.AnswerLine{
		{Term: "On " + t.Name, Words: bench.ShowSetting(mark, t.Unit), Note: "brings " + bench.ShowSetting(applied, unit) + " at the fastener"},
		{Term: "What may arrive", Words: templates.WindowIn(quantity.KindTorque, low, high, unit), Note: "±" + tool.PerCent(share) + ", by " + string(from)},
	}, lines...), nil
}
