package web

import (
	"fmt"
	"math"

	"damperdesk/internal/chart"
	"damperdesk/internal/oil"
	"damperdesk/internal/quantity"
	"damperdesk/templates"
)

const viscosityUnit = string(quantity.SquareMillimetrePerSecond)

// viscosity reads one in mm²/s, which is cSt.
func (a asking) viscosity(name string) float64 {
	return 1e6 * a.need(name, quantity.KindViscosity, quantity.SquareMillimetrePerSecond)
}

func fluidFields(asking) ([]templates.CalculatorField, error) {
	return []templates.CalculatorField{
		input("v1", "Viscosity, cold", viscosityUnit, "", "From the data sheet of the fluid; cSt is the same."),
		input("t1", "Measured cold at", "°C", "40", ""),
		input("v2", "Viscosity, warm", viscosityUnit, "", ""),
		input("t2", "Measured warm at", "°C", "100", ""),
		input("at", "How thick is it at", "°C", "20", ""),
	}, nil
}

func fluidAnswer(a asking) (*templates.Answer, error) {
	v1, v2 := a.viscosity("v1"), a.viscosity("v2")
	t1, t2, at := a.celsius("t1", 40), a.celsius("t2", 100), a.celsius("at", 20)
	if a.err() != nil {
		return nil, nil
	}
	line, err := oil.Through(t1, v1, t2, v2)
	if err != nil {
		return nil, refused(err)
	}
	v, err := line.At(at)
	if err != nil {
		return nil, refused(err)
	}
	answer := &templates.Answer{
		Formula: fmt.Sprintf("log log (v + 0.7) = A − B log T, T in kelvin, through the two points: A = %.4f, B = %.4f. The index compares the fall from 40 to 100 °C with that of two reference oils.", line.A, line.B),
		Source:  "ASTM D341 for the temperature, ASTM D2270 for the index, ISO 3448 for the grade.",
		Limits:  "For the fluid as it was measured, from 2 mm²/s up. A number with “wt” is no viscosity: makers give it by habit, and two fluids of one number may differ by half: common practice (no source). Compare mm²/s at 40 °C, and the index.",
	}
	answer.Lines = []templates.AnswerLine{{Term: fmt.Sprintf("At %s °C", digits(at, 4)), Words: one(v) + " " + viscosityUnit}}
	if v40, err := line.At(40); err == nil {
		grade := "between two grades, so it has none"
		if vg, ok := oil.Grade(v40); ok {
			grade = fmt.Sprintf("ISO VG %d", vg)
		}
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "Grade", Words: grade, Note: one(v40) + " " + viscosityUnit + " at 40 °C"})
		if v100, err := line.At(100); err == nil {
			if index, err := oil.Index(v40, v100); err == nil {
				answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "Viscosity index", Words: fmt.Sprint(oil.Report(index)),
					Note: "the higher, the less it thickens in the cold"})
			}
		}
	}
	fluidChart(answer, line, at, v)
	return answer, nil
}

// fluidChart draws the viscosity from freezing to a hot damper.
func fluidChart(answer *templates.Answer, line oil.Line, at, v float64) {
	const hottest = 80
	var curve []chart.Value
	most := 0.0
	answer.Heads = []string{"°C", viscosityUnit}
	for t := 0; t <= hottest; t += 2 {
		here, err := line.At(float64(t))
		if err != nil {
			continue
		}
		curve, most = append(curve, chart.Value{X: float64(t), Y: here}), max(most, here)
		if t%10 == 0 {
			answer.Rows = append(answer.Rows, []string{fmt.Sprint(t), one(here)})
		}
	}
	if len(curve) == 0 {
		return // thinner than the rule goes, all of it
	}
	var dots []chart.Value
	if at >= 0 && at <= hottest {
		dots = []chart.Value{{X: at, Y: v}}
	}
	d := chart.Curves("fluid", "Viscosity from 0 to 80 °C", fmt.Sprintf("It falls from %s %s at its coldest to %s at 80 °C; the dot is at %s °C.",
		one(most), viscosityUnit, one(curve[len(curve)-1].Y), digits(at, 4)),
		chart.Axis{Unit: "°C", High: hottest, Step: 10}, chart.Axis{Unit: viscosityUnit, High: most, Step: 0.1},
		[]chart.Curve{{Kind: chart.Trace, Values: curve}}, dots)
	answer.Chart = &d
}

// What holds of both ways to reckon a blend.
const (
	blendFormula = "An index of each viscosity mixes by shares: Refutas 14.534 ln ln (v + 0.8) + 10.975 by mass, ASTM D7152 log log (v + 0.7) by volume."
	blendSource  = "Refutas as in Maples, Petroleum Refinery Process Economics (2000); the ASTM method of ASTM D7152."
	blendLimits  = "For fluids of about one density that mix and stay mixed: same maker, same kind. Neither rule knows additives. The maker’s manual says what may go in; a blend is no fluid of its list."
)

func blendFields(a asking) ([]templates.CalculatorField, error) {
	return []templates.CalculatorField{
		input("thin", "The thin fluid", viscosityUnit, "", "All three at one temperature, such as 40 °C."),
		input("thick", "The thick fluid", viscosityUnit, "", ""),
		input("want", "Wanted", viscosityUnit, "", ""),
		input("amount", "How much in all", string(a.prefs.Unit(quantity.KindVolume)), "", ""),
	}, nil
}

func blendAnswer(a asking) (*templates.Answer, error) {
	thin, thick, want := a.viscosity("thin"), a.viscosity("thick"), a.viscosity("want")
	amount := a.need("amount", quantity.KindVolume, a.prefs.Unit(quantity.KindVolume))
	a.between("amount", amount, 1e-6, 0.1, "an amount from 1 mL to 100 L")
	if a.err() != nil {
		return nil, nil
	}
	answer := &templates.Answer{
		Formula: blendFormula + " Both are turned round for the share of the thin fluid.",
		Source:  blendSource,
		Limits:  blendLimits,
	}
	shares := [2]float64{}
	for i, rule := range []oil.Rule{oil.Walther, oil.Refutas} {
		share, err := rule.Thin(thin, thick, want)
		if err != nil {
			return nil, refused(err)
		}
		shares[i] = share
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "By " + rule.Name,
			Words: a.prefs.Volume(share*amount) + " thin and " + a.prefs.Volume((1-share)*amount) + " thick",
			Note:  fmt.Sprintf("%s %% thin", one(100*share))})
	}
	answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "They differ by", Words: a.prefs.Volume(math.Abs(shares[0]-shares[1]) * amount),
		Note: "less than a syringe can be read to is no difference"})
	return answer, nil
}

// mostMixed is how many fluids the form has room for.
const mostMixed = 3

func mixFields(a asking) ([]templates.CalculatorField, error) {
	var list []templates.CalculatorField
	for i := range mostMixed {
		n, hint, rest := fmt.Sprint(i+1), "", ""
		switch i {
		case 0:
			hint = "All at one temperature, such as 40 °C."
		case 2:
			rest = "Leave both empty where there are two."
		}
		list = append(list, input("v"+n, "Viscosity of fluid "+n, viscosityUnit, "", hint),
			input("amount"+n, "How much of fluid "+n, string(a.prefs.Unit(quantity.KindVolume)), "", rest))
	}
	return list, nil
}

func mixAnswer(a asking) (*templates.Answer, error) {
	var parts []oil.Part
	whole := 0.0
	for i := range mostMixed {
		v, amount := fmt.Sprintf("v%d", i+1), fmt.Sprintf("amount%d", i+1)
		if i >= 2 && a.text(v) == "" && a.text(amount) == "" {
			continue
		}
		p := oil.Part{V: a.viscosity(v), Share: a.need(amount, quantity.KindVolume, a.prefs.Unit(quantity.KindVolume))}
		if a.text(amount) != "" && !(p.Share > 0) {
			a.wrong(amount, "Type an amount above zero.")
		}
		parts, whole = append(parts, p), whole+p.Share
	}
	if a.err() != nil {
		return nil, nil
	}
	answer := &templates.Answer{Formula: blendFormula + " The mean of the indexes by shares, turned back, is the viscosity of the mix.", Source: blendSource, Limits: blendLimits}
	for _, rule := range []oil.Rule{oil.Walther, oil.Refutas} {
		v, err := rule.Blend(parts)
		if err != nil {
			return nil, refused(err)
		}
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "By " + rule.Name, Words: fmt.Sprintf("%.1f %s", v, viscosityUnit), Note: "at the temperature of the others"})
	}
	answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "In all", Words: a.prefs.Volume(whole)})
	return answer, nil
}
