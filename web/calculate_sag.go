package web

import (
	"fmt"
	"math"

	"damperdesk/internal/airspring"
	"damperdesk/internal/chart"
	"damperdesk/internal/quantity"
	"damperdesk/templates"
)

func sagFields(a asking) ([]templates.CalculatorField, error) {
	pressure := string(a.prefs.Unit(quantity.KindPressure))
	return []templates.CalculatorField{
		input("pressure", "Pressure it was measured at", pressure, "", ""),
		input("sag", "Sag", "mm", "", "By the O-ring, rider with kit, standing still."),
		input("pressure2", "Another pressure", pressure, "", "If it was measured twice: says more of this fork."),
		input("sag2", "Sag at that pressure", "mm", "", ""),
		input("travel", "Travel", "mm", "", ""),
		input("spacers", "Volume spacers in it", "count", "0", ""),
		input("spacers2", "Spacers to try", "count", "", "Empty: as many as are in it."),
		input("spacer", "One spacer takes", string(a.prefs.Unit(quantity.KindVolume)), "", "Put one into water in a measuring cylinder."),
		input("want", "Wanted sag", "per cent of travel", "20", ""),
		input("least", "Least pressure allowed", pressure, "", "From the spec sheet."),
		input("most", "Most pressure allowed", pressure, "", "From the spec sheet."),
		input("rider", "Rider with kit", string(a.prefs.Unit(quantity.KindMass)), "", "For the forces; 80 kg where it is empty. Needed with spacers."),
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
	list := []airspring.Pair{{Gauge: a.gauge("pressure"), Sag: a.need("sag", quantity.KindLength, quantity.Millimetre)}}
	second, sag := a.quantity("pressure2", quantity.KindPressure, unit), a.quantity("sag2", quantity.KindLength, quantity.Millimetre)
	switch {
	case second != nil && sag != nil:
		list = append(list, airspring.Pair{Gauge: a.gauge("pressure2"), Sag: sag.SI})
	case second != nil:
		a.wrong("sag2", "Say how far it sagged at that pressure.")
	case sag != nil:
		a.wrong("pressure2", "Say at which pressure it sagged so far.")
	}
	for i, name := range []string{"sag", "sag2"}[:len(list)] {
		if s := list[i].Sag; travel > 0 && a.text(name) != "" && !(s > 0 && s <= mostSag*travel) {
			a.wrong(name, "Sag lies above zero and below nine tenths of the travel: further down it stands on its end.")
		}
	}
	if p := list[0]; a.text("pressure") != "" && a.faults["pressure"] == "" && p.Gauge == 0 {
		a.wrong("pressure", "Pump it up first: an empty spring tells nothing.")
	} else if len(list) > 1 && (list[1].Gauge-p.Gauge)*(list[1].Sag-p.Sag) > 0 {
		a.wrong("sag2", "More pressure sags less: measure again.")
	}
	return list
}

// mostSag is the share of the travel beyond which a fork stands on its end.
const mostSag = 0.9

// sagAsked is what the calculator of sag is asked.
type sagAsked struct {
	travel, want float64 // m; want is of sag
	load         float64 // N on the fork
	pairs        []airspring.Pair
	limits       airspring.Limits
	now, next    float64 // m³ that spacers take
}

func (a asking) sag() sagAsked {
	unit := a.prefs.Unit(quantity.KindPressure)
	q := sagAsked{travel: a.need("travel", quantity.KindLength, quantity.Millimetre)}
	a.between("travel", q.travel, 0.02, 0.4, "a travel from 20 to 400 mm")
	q.pairs = a.pairs(q.travel)
	q.now, q.next = a.spacers()
	share := a.numberOr("want", 20)
	if !(share >= 5 && share <= 60) {
		a.wrong("want", "Type a share of the travel from 5 to 60 per cent.")
	}
	q.want = share / 100 * q.travel
	q.limits = airspring.Limits{Least: a.or("least", quantity.KindPressure, unit, 0), Most: a.or("most", quantity.KindPressure, unit, 0)}
	if q.limits.Most > 0 && q.limits.Least > q.limits.Most {
		a.wrong("least", "The least is not above the most.")
	}
	rider := a.or("rider", quantity.KindMass, a.prefs.Unit(quantity.KindMass), 80)
	a.between("rider", rider, 10, 300, "a weight from "+a.prefs.Mass(10)+" to "+a.prefs.Mass(300))
	if (q.now > 0 || q.next > 0) && a.text("rider") == "" {
		a.wrong("rider", "Say how heavy: what a spacer changes hangs on it.")
	}
	q.load = rider * 9.80665 * onTheFork
	return q
}

// spacers reads what volume those in it take, and those to try.
func (a asking) spacers() (now, next float64) {
	each := a.or("spacer", quantity.KindVolume, a.prefs.Unit(quantity.KindVolume), 0)
	count := func(name string, otherwise int64) int64 {
		if a.text(name) == "" {
			return otherwise
		}
		n := a.number(name)
		if n < 0 || n > mostSpacers {
			a.wrong(name, fmt.Sprintf("Type a number from 0 to %d.", mostSpacers))
		}
		return n
	}
	in := count("spacers", 0)
	try := count("spacers2", in)
	if (in > 0 || try > 0) && each <= 0 {
		a.wrong("spacer", "Say how much one spacer takes.")
	}
	return float64(in) * each, float64(try) * each
}

// mostSpacers is where entry of spec sheets asks too.
const mostSpacers = 10

func sagAnswer(a asking) (*templates.Answer, error) {
	q := a.sag()
	if a.err() != nil {
		return nil, nil
	}
	spring := assumedSpring(q.travel)
	spring.Spacer = q.now
	fitted, err := airspring.Fit(spring, q.pairs, q.load, airspring.SeaLevel)
	if err != nil && q.now > 0 {
		a.wrong("spacers", "No spring with so many sags so.")
		return nil, nil
	}
	if err != nil {
		return nil, refused(err)
	}
	tried := fitted.Spring
	tried.Spacer = q.next
	if _, err := tried.Charge(0, airspring.SeaLevel, airspring.Slow); err != nil {
		a.wrong("spacers2", "So many leave no room for the travel.")
		return nil, nil
	}
	next, bound, err := tried.Next(q.load, q.want, airspring.SeaLevel, q.limits)
	if err != nil {
		a.wrong("want", "Without any air it holds the rider before that: take less sag.")
		return nil, nil
	}
	return q.advise(a.prefs, fitted, tried, next, bound)
}

// within prints a pressure so that rounding takes it out of neither limit.
func (q sagAsked) within(prefs templates.Prefs, pa float64) string {
	unit := prefs.Unit(quantity.KindPressure)
	text := prefs.Pressure(pa)
	const noise = 1e-9
	switch shown, err := quantity.Parse(quantity.KindPressure, text, unit); {
	case err != nil:
	case q.limits.Most > 0 && shown.SI > q.limits.Most*(1+noise):
		return quantity.FormatDown(quantity.KindPressure, pa, unit)
	case shown.SI < q.limits.Least*(1-noise):
		return quantity.FormatUp(quantity.KindPressure, pa, unit)
	}
	return text
}

// noMost stands where the most pressure that is allowed is not known.
const noMost = "The most pressure allowed is not known here: look it up at the maker’s and stay below."

// advise words the next pressure of the spring that is tried.
func (q sagAsked) advise(prefs templates.Prefs, fitted airspring.Fitted, tried airspring.Spring, next float64, bound airspring.Bound) (*templates.Answer, error) {
	answer := &templates.Answer{
		Formula: "Force = area × pressure of the squeezed air, less that of the negative chamber; pressure × volume stays as it is when pressed slowly. The area is what makes the measured sag come out" + fittedWords(fitted) + ".",
		Source:  "The ideal gas law (Boyle), and the sag that was measured. Chambers of 1.45 and 0.35 travels, half of the rider on the fork: common practice (no source).",
		Limits:  "An ideal air spring without friction: start here, cycle it, measure again. Never above the maker’s most.",
	}
	charged, err := tried.Charge(next, airspring.SeaLevel, airspring.Slow)
	if err != nil {
		return nil, refused(err)
	}
	sag, err := charged.Sag(q.load)
	if err != nil {
		return nil, refused(err)
	}
	add := func(l templates.AnswerLine) { answer.Lines = append(answer.Lines, l) }
	add(templates.AnswerLine{Term: "Try next", Words: q.within(prefs, next), Note: signed(prefs, next-q.pairs[0].Gauge)})
	if bound != airspring.Free {
		add(templates.AnswerLine{Term: "But", Warning: true,
			Words: fmt.Sprintf("%s, %s: it will sag about %s %%.", q.within(prefs, next), bound, one(100*sag/q.travel))})
	}
	if q.limits.Most == 0 {
		add(templates.AnswerLine{Term: "Before pumping", Warning: true, Words: noMost})
	}
	add(templates.AnswerLine{Term: "Sag was", Words: one(100*q.pairs[0].Sag/q.travel) + " %",
		Note: fmt.Sprintf("%s mm of %s", digits(1000*q.pairs[0].Sag, 4), digits(1000*q.travel, 4))})
	if q.next != q.now {
		before, err := fitted.Charge(next, airspring.SeaLevel, airspring.Slow)
		if err != nil {
			return nil, refused(err)
		}
		add(templates.AnswerLine{Term: "Pressed to the end it takes", Words: whole(charged.BottomOut()) + " N",
			Note: whole(before.BottomOut()) + " N with the spacers as they are"})
	}
	if len(q.pairs) > 1 && fitted.Worst > 0.02*q.pairs[0].Gauge {
		add(templates.AnswerLine{Term: "The two do not agree", Warning: true,
			Words: "One spring misses them by " + prefs.Pressure(fitted.Worst) + ": measure again."})
	}
	return answer, sagChart(answer, tried, next, q.load, sag)
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
