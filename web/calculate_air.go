package web

import (
	"fmt"
	"math"

	"damperdesk/internal/airspring"
	"damperdesk/internal/chart"
	"damperdesk/internal/quantity"
	"damperdesk/templates"
)

func movedFields(a asking) ([]templates.CalculatorField, error) {
	return []templates.CalculatorField{
		input("pressure", "Pressure on the gauge", string(a.prefs.Unit(quantity.KindPressure)), "", ""),
		input("t1", "Temperature where it was set", "°C", "20", "Of the air in the spring: let it stand in the room first."),
		input("h1", "Height where it was set", "m", "0", "Above the sea."),
		input("t2", "Temperature where it is ridden", "°C", "0", ""),
		input("h2", "Height where it is ridden", "m", "0", ""),
	}, nil
}

// metres reads a height above the sea.
func (a asking) metres(name string) float64 {
	return a.or(name, quantity.KindLength, quantity.Metre, 0)
}

func movedAnswer(a asking) (*templates.Answer, error) {
	p := a.need("pressure", quantity.KindPressure, a.prefs.Unit(quantity.KindPressure))
	from := airspring.Place{Temperature: a.celsius("t1", 20), Height: a.metres("h1")}
	to := airspring.Place{Temperature: a.celsius("t2", 0), Height: a.metres("h2")}
	if a.err() != nil {
		return nil, nil
	}
	there, err := airspring.Moved(p, from, to)
	if err != nil {
		return nil, refused(err)
	}
	back, err := airspring.Moved(p, to, from)
	if err != nil {
		return nil, refused(err)
	}
	return &templates.Answer{
		Lines: []templates.AnswerLine{
			{Term: "The gauge reads there", Words: a.prefs.Pressure(max(0, there)), Note: signed(a.prefs, there-p)},
			{Term: "To read the same there, set here", Words: a.prefs.Pressure(max(0, back)), Note: signed(a.prefs, back-p)},
		},
		Formula: "Gauge there = (gauge here + air around here) × kelvin there ÷ kelvin here − air around there.",
		Source:  "The ideal gas law; the air around by US Standard Atmosphere 1976. Weather moves it by some hundredths.",
		Limits:  "A chamber of one volume, nothing let in or out. Start here, ride, measure again.",
	}, nil
}

// signed says by how much a pressure differs.
func signed(p templates.Prefs, pa float64) string {
	if pa < 0 {
		return p.Pressure(-pa) + " less"
	}
	return p.Pressure(pa) + " more"
}

func sagFields(a asking) ([]templates.CalculatorField, error) {
	pressure := string(a.prefs.Unit(quantity.KindPressure))
	return []templates.CalculatorField{
		input("pressure", "Pressure it was measured at", pressure, "", ""),
		input("sag", "Sag", "mm", "", "By the O-ring, rider with kit, standing still."),
		input("pressure2", "Another pressure", pressure, "", "If it was measured twice: says more of this fork."),
		input("sag2", "Sag at that pressure", "mm", "", ""),
		input("travel", "Travel", "mm", "", ""),
		input("want", "Wanted sag", "per cent of travel", "20", ""),
		input("least", "Least pressure allowed", pressure, "", "From the spec sheet."),
		input("most", "Most pressure allowed", pressure, "", "From the spec sheet."),
		input("rider", "Rider with kit", string(a.prefs.Unit(quantity.KindMass)), "", "For the chart alone; empty: 80 kg."),
	}, nil
}

// What is assumed of an air spring that nobody measured, by its travel: common
// practice (no source). The sag that was seen decides all but its progression.
const (
	assumedColumn   = 1.45
	assumedNegative = 0.35
	assumedArea     = 9e-4 // m², scaled by the fit
	negativeArea    = 0.9
	onTheFork       = 0.5 // of the weight of a rider who stands
)

func assumedSpring(travel float64) airspring.Spring {
	return airspring.Spring{Area: assumedArea, Negative: negativeArea * assumedArea, Travel: travel,
		Column: assumedColumn * travel, NegativeColumn: assumedNegative * travel}
}

// pairs reads what was measured once or twice.
func (a asking) pairs(travel float64) []airspring.Pair {
	unit := a.prefs.Unit(quantity.KindPressure)
	list := []airspring.Pair{{Gauge: a.need("pressure", quantity.KindPressure, unit), Sag: a.need("sag", quantity.KindLength, quantity.Millimetre)}}
	second, sag := a.quantity("pressure2", quantity.KindPressure, unit), a.quantity("sag2", quantity.KindLength, quantity.Millimetre)
	switch {
	case second != nil && sag != nil:
		list = append(list, airspring.Pair{Gauge: second.SI, Sag: sag.SI})
	case second != nil:
		a.wrong("sag2", "Say how far it sagged at that pressure.")
	case sag != nil:
		a.wrong("pressure2", "Say at which pressure it sagged so far.")
	}
	for i, name := range []string{"sag", "sag2"}[:len(list)] {
		if s := list[i].Sag; travel > 0 && a.text(name) != "" && !(s > 0 && s < travel) {
			a.wrong(name, "Sag lies above zero and below the travel.")
		}
	}
	return list
}

func sagAnswer(a asking) (*templates.Answer, error) {
	unit := a.prefs.Unit(quantity.KindPressure)
	travel := a.need("travel", quantity.KindLength, quantity.Millimetre)
	pairs := a.pairs(travel)
	want := a.numberOr("want", 20)
	limits := airspring.Limits{Least: a.or("least", quantity.KindPressure, unit, 0), Most: a.or("most", quantity.KindPressure, unit, 0)}
	rider := a.or("rider", quantity.KindMass, a.prefs.Unit(quantity.KindMass), 80)
	if !(want >= 5 && want <= 60) {
		a.wrong("want", "Type a share of the travel from 5 to 60 per cent.")
	}
	if rider <= 0 {
		a.wrong("rider", "Type a weight above zero.")
	}
	if limits.Most > 0 && limits.Least > limits.Most {
		a.wrong("least", "The least is not above the most.")
	}
	if a.err() != nil {
		return nil, nil
	}
	load := rider * 9.80665 * onTheFork
	fitted, err := airspring.Fit(assumedSpring(travel), pairs, load, airspring.SeaLevel)
	if err != nil {
		return nil, refused(err)
	}
	next, bound, err := fitted.Next(load, want/100*travel, airspring.SeaLevel, limits)
	if err != nil {
		a.wrong("want", "Without any air it holds the rider before that: take less sag.")
		return nil, nil
	}
	answer := &templates.Answer{
		Formula: "Force = area × pressure of the squeezed air, less that of the negative chamber; pressure × volume stays as it is when pressed slowly. The area is what makes the measured sag come out" + fittedWords(fitted) + ".",
		Source:  "The ideal gas law (Boyle), and the sag that was measured. Chambers of 1.45 and 0.35 travels, half of the rider on the fork: common practice (no source).",
		Limits:  "An ideal air spring without friction: start here, cycle it, measure again. Never above the maker’s most.",
	}
	answer.Lines = []templates.AnswerLine{{Term: "Try next", Words: a.prefs.Pressure(next), Note: signed(a.prefs, next-pairs[0].Gauge)}}
	charged, err := fitted.Charge(next, airspring.SeaLevel, airspring.Slow)
	if err != nil {
		return nil, refused(err)
	}
	sag, err := charged.Sag(load)
	if err != nil {
		return nil, refused(err)
	}
	if bound != airspring.Free {
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "But", Warning: true,
			Words: fmt.Sprintf("%s, %s: it will sag about %s %%.", a.prefs.Pressure(next), bound, one(100*sag/travel))})
	}
	answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "Sag was", Words: one(100*pairs[0].Sag/travel) + " %",
		Note: fmt.Sprintf("%s mm of %s", digits(1000*pairs[0].Sag, 4), digits(1000*travel, 4))})
	if len(pairs) > 1 && fitted.Worst > 0.02*pairs[0].Gauge {
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "The two do not agree", Warning: true,
			Words: "One spring misses them by " + a.prefs.Pressure(fitted.Worst) + ": measure again."})
	}
	return answer, sagChart(answer, fitted.Spring, next, load, sag)
}

func fittedWords(f airspring.Fitted) string {
	if f.ColumnToo {
		return ", the length of the chamber what makes both come out"
	}
	return "; one sag alone tells nothing of how it hardens at the end"
}

// sagChart draws force over travel, pressed slowly and hit.
func sagChart(answer *templates.Answer, s airspring.Spring, gauge, load, sag float64) error {
	slow, err := s.Charge(gauge, airspring.SeaLevel, airspring.Slow)
	if err != nil {
		return refused(err)
	}
	hit, err := s.Charge(gauge, airspring.SeaLevel, airspring.Hit)
	if err != nil {
		return refused(err)
	}
	var slowly, fast []chart.Value
	answer.Heads = []string{"Travel, mm", "pressed slowly, N", "hit, N"}
	const steps = 40
	for i := range steps + 1 {
		x := s.Travel * float64(i) / steps
		slowly = append(slowly, chart.Value{X: 1000 * x, Y: max(0, slow.Force(x))})
		fast = append(fast, chart.Value{X: 1000 * x, Y: max(0, hit.Force(x))})
		if i%4 == 0 {
			answer.Rows = append(answer.Rows, []string{one(1000 * x), whole(slow.Force(x)), whole(hit.Force(x))})
		}
	}
	d := chart.Curves("spring", "Force over travel at the next pressure", fmt.Sprintf("Pressed slowly it takes %s N to the end, hit %s N. The dot is the sag, %s mm at %s N.",
		whole(slow.BottomOut()), whole(hit.BottomOut()), one(1000*sag), whole(load)),
		chart.Axis{Unit: "mm", High: 1000 * s.Travel, Step: 10}, chart.Axis{Unit: "N", High: hit.BottomOut(), Step: 10},
		[]chart.Curve{{Kind: chart.Trace, Values: slowly, Name: "slow"}, {Kind: chart.Limit, Values: fast, Name: "hit"}},
		[]chart.Value{{X: 1000 * sag, Y: load}})
	answer.Chart = &d
	return nil
}

func whole(v float64) string { return fmt.Sprint(int(math.Round(v))) }
