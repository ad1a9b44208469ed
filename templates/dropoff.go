package templates

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"damperdesk/internal/customer"
	"damperdesk/internal/find"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/internal/staff"
)

// SomebodyNew and AnotherUnit are the choices beside those that were found.
const (
	SomebodyNew = "new"
	AnotherUnit = "new"
)

// DropOffPage logs a visit: who brings which units, what is wanted of each,
// and by when.
type DropOffPage struct {
	Base
	Who      string // what was searched for
	Found    []find.Person
	Customer *customer.Customer   // chosen; nil: nobody, or somebody new
	New      bool                 // somebody new is chosen
	Alike    []find.Alike         // who may be the one that was typed as new
	Units    []customer.Unit      // of the chosen customer
	Count    int                  // units on the form
	Unit     int64                // chosen already; 0: none
	Service  string               // the same
	Recent   map[int64]job.Recent // of the units, those that left here lately

	Draft     string            // the id that this form is kept under
	Hand      string            // which opening of it this is
	Version   int               // what it was opened at, 0 for a new one
	Kept      *job.Draft        // what it is filled from; nil: nothing
	Apart     *Apart            // what somebody else typed in it; nil: nothing
	TakenIn   *job.TakenIn      // what it was taken in as by then; nil: nothing
	Pictures  []picture.Picture // taken already
	Drafts    []job.Draft
	Models    []spec.Model
	Measured  []spec.Measured // of each unit on the form
	Services  []procedure.Service
	Usual     map[string]job.Usual // by symptom
	Mechanics []staff.Person
	Promise   PromisePart
	Terms     *shop.Terms // nil: the shop has none
}

// indexes counts the units on the form.
func (p DropOffPage) indexes() []int {
	list := make([]int, p.Count)
	for i := range list {
		list[i] = i
	}
	return list
}

// ofUnit heads a part with the number of its unit where there are several.
func (p DropOffPage) ofUnit(part string, i int) string {
	if p.Count == 1 {
		return part
	}
	return part + ", unit " + num(i+1)
}

func unitField(i int, name string) string { return fmt.Sprintf("unit%d.%s", i, name) }

// findPath is where find.js asks, with the number of units to draw.
func (p DropOffPage) findPath() string { return "/drop-off/find?units=" + strconv.Itoa(p.Count) }

func (p DropOffPage) findsInto(region string) templ.Attributes {
	return templ.Attributes{"data-find": p.findPath(), "data-region": region}
}

// findsUnits is where a customer is chosen: what was searched for goes with
// them, since it may have been one of their units.
func (p DropOffPage) findsUnits() templ.Attributes {
	attrs := p.findsInto("units")
	if p.Who != "" {
		attrs["data-find"] = p.findPath() + "&who=" + url.QueryEscape(p.Who)
	}
	return attrs
}

// searches is the field that a drop-off begins at, unless something was wrong
// or the customer is known already.
func (p DropOffPage) searches() templ.Attributes {
	attrs := p.findsInto("found")
	if !p.unsent() && p.Customer == nil {
		attrs["autofocus"] = true
	}
	return attrs
}

// newName is what was searched for, where it may be the name of somebody new.
func (p DropOffPage) newName() string {
	if !p.New || strings.ContainsAny(p.Who, "0123456789@") {
		return ""
	}
	return p.Who
}

// customerOptions has whoever is chosen even if the search is for another.
func (p DropOffPage) customerOptions() []Option {
	var options []Option
	chosen := p.Customer != nil && slices.ContainsFunc(p.Found, func(f find.Person) bool { return f.ID == p.Customer.ID })
	if p.Customer != nil && !chosen {
		options = append(options, Option{Value: strconv.FormatInt(p.Customer.ID, 10), Label: p.Customer.Name,
			Note: listed(p.Customer.Phone, p.Customer.Mail), Chosen: true})
	}
	for _, f := range p.Found {
		last := ""
		if f.LastHere != nil {
			last = "last here " + p.Date(p.local(*f.LastHere))
		}
		options = append(options, Option{
			Value: strconv.FormatInt(f.ID, 10), Label: f.Name, Chosen: p.Customer != nil && p.Customer.ID == f.ID,
			Note: listed(broughtBy(f), f.Phone, f.Mail, plural(f.Units, "unit"), last),
		})
	}
	return append(options, Option{Value: SomebodyNew, Label: "Somebody new", Chosen: p.New})
}

// broughtBy names the unit that somebody was found by: "has the Tindra Lode off
// the green hardtail, serial TL-20418".
func broughtBy(f find.Person) string {
	u := f.By
	if u == nil {
		return ""
	}
	return listed(strings.TrimSpace("has the "+u.Name+" "+colourAndBike(u.Unit)), labelled("serial", u.Serial), labelled("tag", u.Tag), labelled("frame", u.FrameNo))
}

func labelled(word, text string) string {
	if text == "" {
		return ""
	}
	return word + " " + text
}

func (p DropOffPage) foundLegend() string {
	if p.Who == "" {
		return "Customer"
	}
	return "Found " + strconv.Itoa(len(p.Found))
}

// newOpen says whether the fields of a new customer are shown at once.
func (p DropOffPage) newOpen() bool {
	wrong := p.Error("name") != "" || p.Error("phone") != "" || p.Error("mail") != ""
	return p.New || wrong || (p.Who != "" && len(p.Found) == 0 && p.Customer == nil)
}

// unitOptions are the customer's units; one that is here already cannot be
// brought again.
func (p DropOffPage) unitOptions() []Option {
	var options []Option
	for _, u := range p.Units {
		note := listed(u.Kind, travel(u), colourAndBike(u), serialOrTag(u))
		if u.OpenJob != 0 {
			note = "is here already, on ticket " + strconv.Itoa(u.OpenJob)
		} else if u.LastAt != nil {
			note = listed(note, "last here "+p.Date(p.local(*u.LastAt)))
		}
		options = append(options, Option{Value: strconv.FormatInt(u.ID, 10), Label: u.Name, Note: note, Disabled: u.OpenJob != 0,
			Chosen: u.ID == p.Unit && u.OpenJob == 0 && p.Count == 1, Attributes: ofUnitKind(u)})
	}
	if slices.ContainsFunc(options, func(o Option) bool { return o.Chosen }) {
		return append(options, anotherUnit(false))
	}
	free := func(o Option) bool { return !o.Disabled }
	if i := slices.IndexFunc(options, free); i >= 0 && p.Count == 1 {
		options[i].Chosen = !slices.ContainsFunc(options[i+1:], free) // the only one it can be, but for another
	}
	return append(options, anotherUnit(len(p.Units) == 0))
}

func anotherUnit(chosen bool) Option {
	return Option{Value: AnotherUnit, Label: "Another unit", Note: "not brought before", Chosen: chosen}
}

func (p DropOffPage) anotherOpen(i int) bool {
	return len(p.Units) == 0 || p.Chosen(unitField(i, "unit"), AnotherUnit, false)
}

func travel(u customer.Unit) string {
	if u.TravelMM == 0 {
		return ""
	}
	return strconv.Itoa(u.TravelMM) + " mm"
}

func colourAndBike(u customer.Unit) string {
	bike := strings.TrimSpace(u.BikeColour + " " + u.BikeWords)
	if bike == "" {
		return ""
	}
	return "off the " + bike
}

func serialOrTag(u customer.Unit) string {
	if u.Tag != "" {
		return "tag " + u.Tag
	}
	return u.Serial
}

func (p DropOffPage) serviceOptions() []Option {
	var options []Option
	for _, s := range p.Services {
		options = append(options, Option{Value: s.Code, Label: s.Name, Note: forKinds(s), Chosen: len(p.Services) == 1 || s.Code == p.Service,
			Attributes: ofSpring("data-for-spring", s.Spring())})
	}
	return options
}

// ofSpring lets the stylesheet leave out what is about the other spring than
// that of the unit that is chosen.
func ofSpring(attribute, spring string) templ.Attributes {
	if spring == "" {
		return nil
	}
	return templ.Attributes{attribute: spring}
}

// forKinds says which kinds of unit a service is for: "for forks".
func forKinds(s procedure.Service) string {
	if len(s.Kinds) == 0 || len(s.Kinds) == len(customer.Kinds) {
		return "for any unit"
	}
	return "for " + strings.Join(s.Kinds, "s, ") + "s"
}

func symptomOptions() []Option {
	var options []Option
	for _, s := range job.Symptoms {
		options = append(options, Option{Value: s.Code, Label: s.Words})
	}
	return options
}

func askField(i int, s job.Symptom, q job.Question) Field {
	return Field{Name: unitField(i, job.AskField(s.Code, q.Code)), Label: q.Words}
}

// answerWords are the answers in a line.
func answerWords(list []job.Answer) string {
	var words []string
	for _, a := range list {
		words = append(words, a.Asked()+" "+a.Words)
	}
	return strings.Join(words, "; ")
}

func answerOptions(q job.Question) []Option {
	options := []Option{{Value: "", Label: "not asked"}}
	for _, c := range q.Choices {
		options = append(options, Option{Value: c, Label: c})
	}
	return options
}

func (p DropOffPage) whoOptions() []Option {
	options := []Option{{Value: "0", Label: "nobody yet"}}
	for _, m := range p.Mechanics {
		options = append(options, Option{Value: strconv.FormatInt(m.ID, 10), Label: m.Name})
	}
	return options
}

// wordOptions offers words as they are, the first one chosen.
func wordOptions(words []string) []Option {
	var options []Option
	for i, w := range words {
		options = append(options, Option{Value: w, Label: w, Chosen: i == 0})
	}
	return options
}

func (p DropOffPage) weightHint() string {
	if p.Prefs.Unit(quantity.KindMass) == quantity.Pound {
		return "with kit, in lb; or such as 11st 9lb, 74 kg"
	}
	return "with kit, in " + string(p.Prefs.Unit(quantity.KindMass)) + "; or such as 11st 9lb, 163 lb"
}

// asksWeight says whether an unusual weight is to be confirmed.
func (p DropOffPage) asksWeight(i int) bool {
	return p.Error(unitField(i, "rider")) != "" || p.Chosen(unitField(i, "ridersure"), "yes", false)
}

// listed puts commas between the words that are there.
func listed(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), ", ")
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

func (p DropOffPage) unitsLegend() string {
	if p.Customer == nil {
		return "Which unit"
	}
	return "Units of " + p.Customer.Name
}

func unitKinds() []Option { return wordOptions(customer.Kinds) }

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
