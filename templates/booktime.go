package templates

import (
	"fmt"
	"math"
	"strconv"

	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
	"damperdesk/internal/spec"
)

// TimesPage sets the minutes that are booked for a service, and shows what they
// come to by the minutes stated at the final check. Each form has a Base of its
// own.
type TimesPage struct {
	Base
	Services    []procedure.Service
	Models      []spec.Model
	Times       job.Times
	List, Model Base
}

// bookRow is one line of the list.
type bookRow struct{ code, name string }

func (p TimesPage) rows() []bookRow {
	var list []bookRow
	for _, s := range p.Services {
		list = append(list, bookRow{s.Code, s.Name})
	}
	return append(list, bookRow{job.Refit, "Refit of a whole bike, beside its services"})
}

// field asks for the minutes of a service; empty for the shipped ones.
func (p TimesPage) field(r bookRow) Field {
	f := Field{Name: job.BookField(r.code), Label: "Booked", Unit: "min", Keyboard: "numeric",
		Hint: fmt.Sprintf("empty: %d, common practice", job.Shipped(r.code))}
	if set := p.Times.Set(r.code, 0); set != 0 {
		f.Value = strconv.Itoa(set)
	}
	return f
}

func (p TimesPage) was(code string) string { return strconv.Itoa(p.Times.Set(code, 0)) }

// learnt says what a service comes to, and by how many jobs.
func (p TimesPage) learnt(code string, model int64) string {
	l := p.Times.Learnt(code, model)
	booked, _ := p.Times.Minutes(code, model)
	takes := int(math.Round(float64(booked) * l.Ratio))
	switch {
	case code == job.Refit:
		return "counted with the services"
	case l.N < job.LeastStated && model == 0:
		return fmt.Sprintf("not enough history, %d of %d jobs stated", l.N, job.LeastStated)
	case model != 0 && l.N == 0:
		return fmt.Sprintf("expected %d min, none of this model stated", takes)
	}
	return fmt.Sprintf("expected %d min, by %s stated", takes, plural(l.N, "job"))
}

// modelRow is a time that holds for one model.
type modelRow struct {
	time          job.BookTime
	service, name string
}

func (p TimesPage) modelRows() []modelRow {
	var list []modelRow
	for _, t := range p.Times.OwnTimes() {
		row := modelRow{time: t, service: t.Service}
		if s, known := procedure.ByCode(p.Services, t.Service); known {
			row.service = s.Name
		}
		for _, m := range p.Models {
			if m.ID == t.ModelID {
				row.name = m.Title()
			}
		}
		list = append(list, row)
	}
	return list
}

func (p TimesPage) serviceOptions() []Option {
	var list []Option
	for _, s := range p.Services {
		list = append(list, Option{Value: s.Code, Label: s.Name})
	}
	return list
}

// TimesWords says in a line how the book times stand.
func TimesWords(t job.Times) string {
	if t.Own() == 0 {
		return "as shipped"
	}
	return fmt.Sprintf("%d set here, the others as shipped", t.Own())
}
