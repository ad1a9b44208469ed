package templates

import (
	"net/url"

	"damperdesk/internal/partslist"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// PartsListPage is what a service takes of the shelf.
type PartsListPage struct {
	Base
	Service procedure.Service
	Lines   []partslist.Line
	Steps   []PartStep
	Models  []spec.Model
}

func partsListPath(service string) string { return "/services/" + url.PathEscape(service) + "/parts" }

// lineModel names the models a line is for.
func lineModel(l partslist.Line) string {
	if l.ModelID == 0 {
		return "any model"
	}
	return l.Model
}

func lineStep(steps []PartStep, l partslist.Line) string {
	if l.Step == "" {
		return "used by hand"
	}
	return stepName(steps, l.Step)
}

func anyModelOf(models []spec.Model) []Option {
	list := modelsOf(models)
	list[0].Label = "any model"
	return list
}

// PartsListsPage leads to the parts list of each service.
type PartsListsPage struct {
	Base
	Services []procedure.Service
	Counts   map[string]int // of items, by service
}

func itemCount(n int) string {
	if n == 0 {
		return "nothing listed"
	}
	return plural(n, "item")
}
