package web

import (
	"math"

	"damperdesk/internal/airspring"
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
		input("most", "Most pressure allowed", string(a.prefs.Unit(quantity.KindPressure)), "", "From the spec sheet; empty: not known."),
	}, nil
}

// metres reads a height above the sea.
func (a asking) metres(name string) float64 {
	return a.or(name, quantity.KindLength, quantity.Metre, 0)
}

// mostGauge is the highest pressure a calculator takes, in Pa: no gauge of the
// trade goes so far.
const mostGauge = 1e7

// gauge reads a pressure of a gauge that there has to be.
func (a asking) gauge(name string) float64 {
	p := a.need(name, quantity.KindPressure, a.prefs.Unit(quantity.KindPressure))
	if !(p >= 0 && p <= mostGauge) {
		a.wrong(name, "A gauge shows from "+a.prefs.Pressure(0)+" to "+a.prefs.Pressure(mostGauge)+" here.")
	}
	return p
}

func movedAnswer(a asking) (*templates.Answer, error) {
	p := a.gauge("pressure")
	from := airspring.Place{Temperature: a.celsius("t1", 20), Height: a.metres("h1")}
	to := airspring.Place{Temperature: a.celsius("t2", 0), Height: a.metres("h2")}
	most := a.or("most", quantity.KindPressure, a.prefs.Unit(quantity.KindPressure), 0)
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
	answer := &templates.Answer{
		Formula: "Gauge there = (gauge here + air around here) × kelvin there ÷ kelvin here − air around there.",
		Source:  "The ideal gas law; the air around by US Standard Atmosphere 1976. Weather moves it by some hundredths.",
		Limits:  "A chamber of one volume, nothing let in or out. Start here, ride, measure again. Never above the maker’s most, here or there.",
	}
	answer.Lines = []templates.AnswerLine{
		a.reading("The gauge reads there", there, p, "Nothing: there is less in it than the air around."),
		a.reading("To read the same there, set here", back, p, "It cannot be: it would take less air than an empty spring holds."),
	}
	switch {
	case most == 0:
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "Before pumping", Warning: true, Words: noMost})
	case max(p, there, back) > most:
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "But", Warning: true,
			Words: "Some of these lie above the most allowed, " + quantity.FormatDown(quantity.KindPressure, most, a.prefs.Unit(quantity.KindPressure)) + "."})
	}
	return answer, nil
}

// reading is a pressure beside the one that was asked about; below zero no gauge
// reads it.
func (a asking) reading(term string, pa, asked float64, below string) templates.AnswerLine {
	if pa < 0 {
		return templates.AnswerLine{Term: term, Words: below, Warning: true}
	}
	return templates.AnswerLine{Term: term, Words: a.prefs.Pressure(pa), Note: signed(a.prefs, pa-asked)}
}

// signed says by how much a pressure differs.
func signed(p templates.Prefs, pa float64) string {
	if p.Pressure(math.Abs(pa)) == p.Pressure(0) {
		return "no change"
	}
	if pa < 0 {
		return p.Pressure(-pa) + " less"
	}
	return p.Pressure(pa) + " more"
}
