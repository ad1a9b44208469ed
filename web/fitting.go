package web

import (
	"math"
	"net/http"
	"net/url"
	"regexp"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/customer"
	"damperdesk/internal/fault"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

// ofUnit begins the fields of a unit on a drop-off.
var ofUnit = regexp.MustCompile(`^unit[0-9]{1,2}\.$`)

// measured reads what was measured of the unit whose fields begin so.
func (f *form) measured(prefix string) spec.Measured {
	under := prefix + templates.MeasuredField
	of := &form{values: url.Values{}, faults: map[string]string{}}
	for name, values := range f.values {
		if field, ok := strings.CutPrefix(name, under); ok {
			of.values[field] = values
		}
	}
	m := spec.Measured{Kind: f.text(prefix + "kind"), Spring: of.text("spring"), SpringLeg: of.text("leg"), Build: of.build()}
	if travel := of.quantity("travel", quantity.KindLength, quantity.Millimetre); travel != nil {
		mm := int(math.Round(min(travel.SI*1000, 1e6)))
		m.TravelMM = &mm
	}
	for field, sentence := range of.faults {
		f.wrong(under+field, sentence)
	}
	return m
}

// what is the model that was chosen, from the list or by what was measured, else
// the own words with what was measured after them.
func (f *form) what(prefix string) (modelID int64, words string) {
	m := f.measured(prefix)
	if modelID = f.number(prefix + "model"); modelID == 0 {
		modelID = f.number(prefix + "fits")
	}
	words = f.text(prefix + "words")
	if modelID != 0 {
		return modelID, words
	}
	return 0, customer.WithMeasured(words, m.Words)
}

// fitting answers find.js with the models that what was measured fits.
func (a *App) fitting(w http.ResponseWriter, r *http.Request) error {
	models, err := spec.Models(r.Context(), a.pool)
	if err != nil {
		return err
	}
	f := &form{values: r.URL.Query(), faults: map[string]string{}}
	prefix := f.text("prefix")
	if !ofUnit.MatchString(prefix) {
		return fault.NotFound("There is no such page.")
	}
	m := f.measured(prefix)
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Errors = f.faults
		return templates.FittingModels(base, prefix, m, spec.Fitting(models, m)), nil
	})
}

// measuredUnits is what was measured of each unit on a drop-off.
func measuredUnits(typed url.Values, units int) []spec.Measured {
	f := &form{values: typed, faults: map[string]string{}}
	list := make([]spec.Measured, units)
	for i := range list {
		list[i] = f.measured(unitPrefix(i))
	}
	return list
}
