package web

import (
	"errors"
	"fmt"
	"strconv"

	"damperdesk/internal/bench"
	"damperdesk/internal/chart"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/internal/stat"
	"damperdesk/templates"
)

func ridersFields(a asking) ([]templates.CalculatorField, error) {
	models, err := spec.Models(a.ctx, a.app.pool)
	if err != nil {
		return nil, err
	}
	options := []templates.Option{{Value: "", Label: "choose"}}
	for _, m := range models {
		if m.Spring == "air" {
			options = append(options, templates.Option{Value: strconv.FormatInt(m.ID, 10), Label: m.Title()})
		}
	}
	return []templates.CalculatorField{
		{Field: templates.Field{Name: "model", Label: "Model", Hint: "With an air spring."}, Options: options},
		input("rider", "Rider with kit", string(a.prefs.Unit(quantity.KindMass)), "", ""),
	}, nil
}

// sureOfRiders is the chance that the interval holds the next rider's pressure.
const sureOfRiders = 0.8

func ridersAnswer(a asking) (*templates.Answer, error) {
	if a.text("model") == "" {
		a.wrong("model", "Choose a model.")
	}
	id, kg := a.number("model"), a.need("rider", quantity.KindMass, a.prefs.Unit(quantity.KindMass))
	if a.err() != nil {
		return nil, nil
	}
	model, err := spec.GetModel(a.ctx, a.app.pool, id)
	if err != nil {
		return nil, err
	}
	list, err := bench.RiddenModel(a.ctx, a.app.pool, id)
	if err != nil {
		return nil, err
	}
	advice, err := bench.Advise(list, kg, sureOfRiders)
	if err != nil {
		return a.chartAlone(model, kg, advice, err)
	}
	answer := a.advised(model, advice)
	if err := a.withinMakers(answer, model, advice, kg); err != nil {
		return nil, err
	}
	return answer, a.ridersChart(answer, list, advice)
}

// chartAlone answers by the set-up chart where too little is known of other
// riders; without a chart it says why there is no advice.
func (a asking) chartAlone(model spec.Model, kg float64, advice bench.Advice, why error) (*templates.Answer, error) {
	sheet, err := spec.Current(a.ctx, a.app.pool, model.ID)
	if err != nil && !errors.As(err, new(fault.NotFound)) {
		return nil, err
	}
	most, _ := sheet.Value("maximum pressure", "")
	line, ok := templates.ChartedLine(a.prefs, sheet.Setup, kg, most.NominalSI)
	if _, err := sheet.Setup.At(kg, 0); !ok || err != nil {
		return nil, a.unadvised(advice, why)
	}
	others := "not enough history"
	if !errors.As(why, new(stat.TooFew)) {
		others = why.Error()
	}
	return &templates.Answer{
		Lines:   []templates.AnswerLine{line, {Term: "Of other riders", Words: others}},
		Formula: "Straight lines between the rows of the chart; nothing beyond its ends.",
		Source:  sheet.Setup.From.Source(),
		Limits:  "Where a rider begins, not what is right: measure the sag, ride, measure again. Never above the maker’s most.",
	}, nil
}

// unadvised says beside the field why there is no advice.
func (a asking) unadvised(advice bench.Advice, err error) error {
	var few stat.TooFew
	switch {
	case errors.As(err, &few):
		a.wrong("model", fmt.Sprintf("Not enough history: %d of this model went back with a pressure and the weight of the rider, and it takes %d.", few.Have, few.Need))
	case errors.Is(err, bench.ErrBeyond):
		a.wrong("rider", fmt.Sprintf("The riders of this model weighed %s to %s: nothing is known beyond.", a.prefs.Mass(advice.Line.Low), a.prefs.Mass(advice.Line.High)))
	case errors.Is(err, bench.ErrOneWeight):
		a.wrong("model", "All riders of this model weighed the same: nothing follows for another weight.")
	default:
		return err
	}
	return nil
}

func (a asking) advised(model spec.Model, advice bench.Advice) *templates.Answer {
	const heavier = 10 // kg
	return &templates.Answer{
		Lines: []templates.AnswerLine{
			{Term: "Riders of that weight had about", Words: a.prefs.Pressure(advice.Pressure)},
			{Term: "Eight of ten between", Words: a.prefs.Window(quantity.KindPressure, max(0, advice.Between.Low), advice.Between.High)},
			{Term: "Seen of " + model.Title(), Words: fmt.Sprintf("%d riders", advice.Line.N), Note: "as each went back from its last job here"},
		},
		Formula: fmt.Sprintf("A straight line by least squares of the pressure over the weight: %s for each %s. The interval is that of one more rider, by Student’s t.",
			signed(a.prefs, advice.Line.Slope*heavier), a.prefs.Mass(heavier)),
		Source: "What was signed in this shop at the final check.",
		Limits: "What others had, not what is right: start here, measure the sag, ride, measure again. Never above the maker’s most.",
	}
}

// withinMakers warns where some of the pressures that the next rider may have lie
// outside what the model’s spec sheet allows, and where it says no most.
func (a asking) withinMakers(answer *templates.Answer, model spec.Model, advice bench.Advice, kg float64) error {
	sheet, err := spec.Current(a.ctx, a.app.pool, model.ID)
	if err != nil && !errors.As(err, new(fault.NotFound)) { // without a sheet in force there are no values
		return err
	}
	unit := a.prefs.Unit(quantity.KindPressure)
	warn := func(term, words string) {
		answer.Lines = append(answer.Lines, templates.AnswerLine{Term: term, Warning: true, Words: words})
	}
	switch most, ok := sheet.Value("maximum pressure", ""); {
	case !ok:
		warn("Before pumping", noMost)
	case advice.Between.High > most.NominalSI:
		warn("But", "The maker’s most is "+quantity.FormatDown(quantity.KindPressure, most.NominalSI, unit)+".")
	}
	most, _ := sheet.Value("maximum pressure", "")
	if line, ok := templates.ChartedLine(a.prefs, sheet.Setup, kg, most.NominalSI); ok {
		answer.Lines = append(answer.Lines, line)
	}
	if least, ok := sheet.Value("minimum pressure", ""); ok && advice.Between.Low < least.NominalSI {
		warn("But", "The maker’s least is "+quantity.FormatUp(quantity.KindPressure, least.NominalSI, unit)+".")
	}
	return nil
}

// ridersChart draws each rider as a dot, the line through them and where eight of
// ten lie.
func (a asking) ridersChart(answer *templates.Answer, list []bench.Ridden, advice bench.Advice) error {
	mass, pressure := a.prefs.Unit(quantity.KindMass), a.prefs.Unit(quantity.KindPressure)
	at := func(kg, pa float64) chart.Value {
		return chart.Value{X: quantity.Convert(quantity.KindMass, kg, mass), Y: quantity.Convert(quantity.KindPressure, max(0, pa), pressure)}
	}
	const steps = 20
	var middle, low, high []chart.Value
	for i := range steps + 1 {
		x := advice.Line.Low + (advice.Line.High-advice.Line.Low)*float64(i)/steps
		between, err := advice.Line.Next(x, sureOfRiders)
		if err != nil {
			return refused(err)
		}
		middle, low, high = append(middle, at(x, advice.Line.At(x))), append(low, at(x, between.Low)), append(high, at(x, between.High))
	}
	answer.Heads = []string{"Rider, " + string(mass), "Pressure, " + string(pressure), "Ticket"}
	var dots []chart.Value
	most := 0.0
	for _, v := range high {
		most = max(most, v.Y)
	}
	for _, r := range list {
		dot := at(r.RiderKG, r.PressurePa)
		dots, most = append(dots, dot), max(most, dot.Y)
		answer.Rows = append(answer.Rows, []string{a.prefs.Mass(r.RiderKG), a.prefs.Pressure(r.PressurePa), strconv.Itoa(r.Number)})
	}
	d := chart.Curves("riders", "Pressure over the weight of the rider", fmt.Sprintf("%d riders. The line goes from %s at %s to %s at %s; eight of ten lie between the dashed ones.", len(list),
		a.prefs.Pressure(advice.Line.At(advice.Line.Low)), a.prefs.Mass(advice.Line.Low), a.prefs.Pressure(advice.Line.At(advice.Line.High)), a.prefs.Mass(advice.Line.High)),
		chart.Axis{Unit: string(mass), Low: at(advice.Line.Low, 0).X, High: at(advice.Line.High, 0).X, Step: 1}, chart.Axis{Unit: string(pressure), High: most, Step: 0.1},
		[]chart.Curve{{Kind: chart.Trace, Values: middle}, {Kind: chart.Limit, Values: low}, {Kind: chart.Limit, Values: high}}, dots)
	answer.Chart = &d
	return nil
}
