package procedure

import (
	"errors"
	"slices"

	"damperdesk/internal/fault"
	"damperdesk/internal/spec"
)

// Ask is a torque or an amount that the bench asks for by hand, with its
// source, because the spec sheet has none.
type Ask struct {
	SpecKey  string
	Place    string
	Services []string // the names of those whose steps ask
}

// Lacking lists what the steps of the services ask of a model's units and its
// sheet does not have, in the order of the steps. A service that is not for
// such a model asks nothing.
func Lacking(services []Service, blocks map[string]Block, m spec.Model, sheet spec.Sheet) ([]Ask, error) {
	facts := FactsOf(m, "unit only").With(sheet)
	var list []Ask
	for _, s := range services {
		if !s.Suits(m.Spring) {
			continue
		}
		steps, err := Merge([]Service{s}, blocks, facts)
		if errors.As(err, new(fault.Conflict)) {
			continue
		}
		if err != nil {
			return nil, err
		}
		for _, step := range steps {
			list = asked(list, s, step, sheet)
		}
	}
	return list, nil
}

func asked(list []Ask, s Service, step Step, sheet spec.Sheet) []Ask {
	_, known := spec.Find(step.SpecKey)
	_, has := sheet.Value(step.SpecKey, step.Place)
	if !known || has || step.Kind != Torque && step.Kind != Volume {
		return list
	}
	i := slices.IndexFunc(list, func(a Ask) bool { return a.SpecKey == step.SpecKey && a.Place == step.Place })
	if i < 0 {
		return append(list, Ask{SpecKey: step.SpecKey, Place: step.Place, Services: []string{s.Name}})
	}
	if !slices.Contains(list[i].Services, s.Name) {
		list[i].Services = append(list[i].Services, s.Name)
	}
	return list
}
