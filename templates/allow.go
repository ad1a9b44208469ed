package templates

import (
	"strconv"

	"damperdesk/internal/procedure"
)

// unsuitable lists the tools that the owner can let be used for the step.
func (p StepPage) unsuitable() []Option {
	var list []Option
	for _, c := range p.Choices {
		if !c.Usable && c.Allowed == "" {
			list = append(list, Option{Value: strconv.FormatInt(c.Tool.ID, 10), Label: c.Tool.Name, Note: c.Why})
		}
	}
	return list
}

// mayAllow says whether whoever looks can let a tool be used that does not suit.
func (p StepPage) mayAllow() bool {
	return p.Step.Kind == procedure.Torque && p.Step.Done == nil && p.Person.Has("owner") && len(p.unsuitable()) > 0
}
