package templates

import (
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/customer"
	"damperdesk/internal/find"
	"damperdesk/internal/job"
)

// MergePage has two customers beside each other who may be one.
type MergePage struct {
	Base
	Keep  customer.Customer // whose page it is, and who stays
	Who   string            // what was searched for to find the other one
	Found []find.Person
	Alike []find.Alike
	Other *MergeOther // nil: to be chosen
}

// MergeOther is who would be merged, and what goes over.
type MergeOther struct {
	customer.Customer
	Why   []find.Likeness
	Units []customer.Unit
	Done  []job.Closed // the newest
}

func mergePath(id int64) string { return customerPath(id) + "/merge" }

func withPath(keep, other int64) string { return mergePath(keep) + "?with=" + itoa(other) }

// whyLine says why two customers may be one.
func whyLine(why []find.Likeness) string {
	var words []string
	for _, w := range why {
		words = append(words, w.String())
	}
	return strings.Join(words, ", ")
}

// sideOptions lets the desk choose of two words; what is there stands before
// what is not.
func sideOptions(keep, other string) []Option {
	note := func(words, side string) string {
		if words == "" {
			return "nothing, " + side
		}
		return side
	}
	return []Option{
		{Value: "ours", Label: orNone(keep), Note: note(keep, "as kept here"), Chosen: keep != "" || other == ""},
		{Value: "theirs", Label: orNone(other), Note: note(other, "from the other one"), Chosen: keep == "" && other != ""},
	}
}

func orNone(words string) string {
	if words == "" {
		return "none"
	}
	return words
}

// goesOver says what the merge moves.
func (p MergePage) goesOver() string {
	units := "No unit goes over."
	if n := len(p.Other.Units); n == 1 {
		units = "Its unit goes over"
	} else if n > 1 {
		units = "Its " + plural(n, "unit") + " go over"
	}
	if len(p.Other.Units) > 0 {
		units += " to " + p.Keep.Name + ", with the bikes."
	}
	return units + " Visits, bills and the history stay as they were written, and are read here too. Links that customers have go on working."
}

// AlikeFields asks of somebody new whether they are one of those already here.
// Its answer is a customer, or the word that it is somebody else.
type AlikeFields struct {
	Base
	List []find.Alike
	Page DropOffPage
}

// AlikeFields are those of the page.
func (p DropOffPage) AlikeFields() AlikeFields {
	return AlikeFields{Base: p.Base, List: p.Alike, Page: p}
}

// asksAlike lets a field of somebody new ask for who may be the same.
func (p DropOffPage) asksAlike() templ.Attributes {
	return templ.Attributes{"data-find": "/drop-off/alike?units=" + strconv.Itoa(p.Count), "data-region": "alike", "data-with": "name phone mail"}
}

func (p AlikeFields) options() []Option {
	var options []Option
	for _, a := range p.List {
		last := ""
		if a.LastHere != nil {
			last = "last here " + p.Date(p.local(*a.LastHere))
		}
		options = append(options, Option{Value: itoa(a.ID), Label: a.Name,
			Note: listed(whyLine(a.Why), a.Phone, a.Mail, plural(a.Units, "unit"), last), Attributes: p.Page.findsUnits()})
	}
	return options
}
