package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/go-chi/chi/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
	"damperdesk/templates"
)

// asking is what a calculator is asked, in the units of the shop.
type asking struct {
	*form
	ctx   context.Context
	app   *App
	prefs templates.Prefs
	today time.Time // in the shop’s zone
}

// calculator is one of the bench calculators: fields are what it asks, answer
// what follows. An error of a kernel is a sentence about what was typed.
type calculator struct {
	templates.Calculator
	fields func(a asking) ([]templates.CalculatorField, error)
	answer func(a asking) (*templates.Answer, error)
}

var calculators = []calculator{
	{templates.Calculator{Path: "units", Name: "Units", About: "One value in every unit that its kind has, exact, and rounded to what a tool shows."}, unitFields, unitAnswer},
	{templates.Calculator{Path: "torque", Name: "Torque tool and extension", About: "What to set a wrench to when an extension or adapter carries the torque on."}, armFields, armAnswer},
	{templates.Calculator{Path: "pressure", Name: "Pressure on a cold day or high up", About: "What the gauge will read at another temperature and height."}, movedFields, movedAnswer},
	{templates.Calculator{Path: "fluid", Name: "Fluid at a temperature", About: "How thick a fluid is, its viscosity index and its grade: what a number with “wt” does not say."}, fluidFields, fluidAnswer},
	{templates.Calculator{Path: "blend", Name: "Blend of two fluids", About: "How much of each makes a wanted viscosity."}, blendFields, blendAnswer},
	{templates.Calculator{Path: "mix", Name: "What a mix comes out as", About: "The viscosity of two or three fluids poured together."}, mixFields, mixAnswer},
	{templates.Calculator{Path: "sag", Name: "Sag and pressure", About: "Which pressure to try next for a wanted sag, inside the maker’s limits."}, sagFields, sagAnswer},
	{templates.Calculator{Path: "riders", Name: "What other riders had", About: "Which pressure riders of a weight took in this model, as they left this shop."}, ridersFields, ridersAnswer},
}

func (a *App) calculators(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Bench calculators")
	if err != nil {
		return err
	}
	page := templates.CalculatorsPage{Base: base}
	for _, c := range calculators {
		page.List = append(page.List, c.Calculator)
	}
	return render(w, r, http.StatusOK, templates.Calculators(page))
}

// calculate answers what stands in the address; nothing there is a form to be
// filled in.
func (a *App) calculate(w http.ResponseWriter, r *http.Request) error {
	i := slices.IndexFunc(calculators, func(c calculator) bool { return c.Path == chi.URLParam(r, "name") })
	if i < 0 {
		return fault.NotFound("There is no such calculator.")
	}
	c := calculators[i]
	base, err := a.base(r, c.Name)
	if err != nil {
		return err
	}
	query := r.URL.Query()
	f := &form{values: query, faults: map[string]string{}}
	ask := asking{form: f, ctx: r.Context(), app: a, prefs: base.Prefs, today: base.Now.In(base.Prefs.Zone)}
	page := templates.CalculatorPage{Calculator: c.Calculator}
	if page.Fields, err = c.fields(ask); err != nil {
		return err
	}
	status := http.StatusOK
	if base.Typed = prefilled(query, page.Fields); asksAll(query, page.Fields) {
		page.Answer, err = c.answer(ask)
		switch {
		case f.err() != nil:
			page.Answer, status, base.Errors = nil, http.StatusUnprocessableEntity, f.faults
		case errors.As(err, new(kernelError)):
			page.Answer, status, base.Problem = nil, http.StatusUnprocessableEntity, err.Error()
		case err != nil:
			return err
		}
	}
	page.Base = base
	return render(w, r, status, templates.CalculatorOf(page))
}

// asksAll reports whether the form was sent: an address that leads here from
// elsewhere has some of its fields, which wait for the others.
func asksAll(query url.Values, fields []templates.CalculatorField) bool {
	return !slices.ContainsFunc(fields, func(f templates.CalculatorField) bool { return !query.Has(f.Name) })
}

// prefilled are the values of the fields: those of the address, else their own.
func prefilled(query url.Values, fields []templates.CalculatorField) url.Values {
	values := url.Values{}
	for _, f := range fields {
		values.Set(f.Name, f.Value)
		if query.Has(f.Name) {
			values.Set(f.Name, query.Get(f.Name))
		}
	}
	return values
}

// kernelError is a sentence of a kernel about what it was asked.
type kernelError struct{ error }

func (e kernelError) Error() string {
	text := e.error.Error()
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:] + "."
}

// refused wraps what a kernel says.
func refused(err error) error {
	if err == nil {
		return nil
	}
	return kernelError{err}
}

// need reads a value that there has to be.
func (a asking) need(name string, kind quantity.Kind, unit quantity.Unit) float64 {
	v := a.quantity(name, kind, unit)
	if v == nil {
		if a.text(name) == "" {
			a.wrong(name, "Fill this in.")
		}
		return 0
	}
	return v.SI
}

// or reads a value that may be left out.
func (a asking) or(name string, kind quantity.Kind, unit quantity.Unit, otherwise float64) float64 {
	if v := a.quantity(name, kind, unit); v != nil {
		return v.SI
	}
	return otherwise
}

// celsius reads a temperature in °C; empty is otherwise.
func (a asking) celsius(name string, otherwise float64) float64 {
	return quantity.Convert(quantity.KindTemperature, a.or(name, quantity.KindTemperature, quantity.Celsius, otherwise+273.15), quantity.Celsius)
}

// numberOr reads a plain number; empty is otherwise.
func (a asking) numberOr(name string, otherwise float64) float64 {
	if n := a.decimal(name, quantity.ParseNumber); n != nil {
		return *n
	}
	return otherwise
}

// input is a field of a value with its unit; in the address it keeps its own.
func input(name, label, unit, value, hint string) templates.CalculatorField {
	return templates.CalculatorField{Field: templates.Field{Name: name, Label: label, Unit: unit, Value: value, Hint: hint}}
}

// between faults a number that was read of a field and lies outside what is asked
// there; says is in the unit of the field.
func (a asking) between(name string, v, low, high float64, says string) {
	if a.text(name) != "" && a.faults[name] == "" && !(v >= low && v <= high) {
		a.wrong(name, "Type "+says+".")
	}
}

// digits prints a number to so many digits that count, without an exponent.
func digits(v float64, n int) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', n, 64), 64)
	if err != nil {
		return "?"
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

func one(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// kinds are what units are there for.
var kinds = []quantity.Kind{quantity.KindTorque, quantity.KindPressure, quantity.KindVolume, quantity.KindMass,
	quantity.KindLength, quantity.KindTemperature, quantity.KindViscosity, quantity.KindSpringRate}

func unitFields(asking) ([]templates.CalculatorField, error) {
	return []templates.CalculatorField{input("value", "Value", "with its unit", "", "Such as 62 lbf·in, 85 psi, 15 mL or 11 st 9 lb.")}, nil
}

func unitAnswer(a asking) (*templates.Answer, error) {
	text := a.text("value")
	for _, kind := range kinds {
		v, err := quantity.Parse(kind, text, "")
		if err != nil {
			continue
		}
		answer := &templates.Answer{
			Formula: "The number times the unit it has, divided by the one it gets; a temperature with its offset first. Pressure is what a gauge reads: no atmosphere is added.",
			Source:  "NIST SP 811, appendix B.8: inch, pound, standard gravity and gallon are exact.",
			Limits:  "Rounded is to what a tool of that unit shows; work to the unit that the value is specified in.",
		}
		for _, u := range quantity.Units(kind) {
			answer.Lines = append(answer.Lines, templates.AnswerLine{Term: "In " + string(u),
				Words: quantity.Format(kind, v.SI, u), Note: digits(quantity.Convert(kind, v.SI, u), 9) + " " + string(u) + " unrounded"})
		}
		return answer, nil
	}
	if text == "" {
		a.wrong("value", "Fill this in.")
	} else {
		a.wrong("value", "Type a number with its unit, such as "+strings.Join([]string{"62 lbf·in", "85 psi", "15 mL"}, ", ")+".")
	}
	return nil, nil
}
