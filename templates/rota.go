package templates

import (
	"strconv"

	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/staff"
)

// RotaPage sets who is at the bench when and does what, how much of it is kept free, and how
// sure promises are to be. Each form has a Base of its own.
type RotaPage struct {
	Base
	Bench                                 shop.Bench
	Mechanics                             []staff.Person
	Who                                   staff.Person // whose week the form shows; nobody in a shop without mechanics
	Version                               int          // of the shop
	Services                              []procedure.Service
	Week, Away, Back, Reserve, Sure, Does Base
}

// Choose shows the week of that mechanic, else that of the first.
func (p *RotaPage) Choose(who int64) {
	for i, m := range p.Mechanics {
		if i == 0 || m.ID == who {
			p.Who = m
		}
	}
}

// names are the mechanics as options of a select.
func (p RotaPage) names() []Option {
	var list []Option
	for _, m := range p.Mechanics {
		list = append(list, Option{Value: strconv.FormatInt(m.ID, 10), Label: m.Name})
	}
	return list
}

func (p RotaPage) name(id int64) string {
	for _, m := range p.Mechanics {
		if m.ID == id {
			return m.Name
		}
	}
	return "somebody who has left"
}

// seen is the newest week of whom the form shows.
func (p RotaPage) seen() string {
	var newest int64
	for _, r := range p.Bench.Of(p.Who.ID) {
		newest = max(newest, r.ID)
	}
	return strconv.FormatInt(newest, 10)
}

// weekNow is a mechanic's week today, and what it changes to later.
func (p RotaPage) weekNow(m staff.Person) (now string, later []string) {
	now = "when the shop is open"
	for _, r := range p.Bench.Of(m.ID) {
		if words := rotaWords(r); r.From.After(p.ShopDay()) {
			later = append(later, "from "+p.day(r.From, "Mon 2 Jan")+": "+words)
		} else {
			now = words
		}
	}
	return now, later
}

func rotaWords(r shop.Rota) string {
	switch {
	case r.AsShop:
		return "when the shop is open"
	case len(r.Spans) == 0:
		return "not at the bench"
	}
	return shop.WeekWords(r.Spans)
}

func (p RotaPage) asShop() bool {
	asShop := true
	for _, r := range p.Bench.Of(p.Who.ID) {
		asShop = r.AsShop
	}
	return asShop
}

func (p RotaPage) spans() []shop.Opening {
	spans := p.Bench.Openings
	for _, r := range p.Bench.Of(p.Who.ID) {
		if !r.AsShop {
			spans = r.Spans
		}
	}
	return spans
}

func rotaPath(id int64) string { return "/shop/rota?who=" + strconv.FormatInt(id, 10) + "#week" }

// doesOptions are the services, those ticked that the mechanic does.
func (p RotaPage) doesOptions() []Option {
	var list []Option
	for _, s := range procedure.Offered(p.Services) {
		list = append(list, Option{Value: s.Code, Label: s.Name, Chosen: p.Bench.Does(p.Who.ID, s.Code)})
	}
	return list
}

// notDone are the services that a mechanic does not do, by their names and codes.
func (p RotaPage) notDone(who int64) (names, codes []string) {
	for _, s := range p.Services {
		if !p.Bench.Does(who, s.Code) {
			names, codes = append(names, s.Name), append(codes, s.Code)
		}
	}
	return names, codes
}
