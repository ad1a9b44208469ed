package templates

import (
	"strconv"
	"strings"

	"damperdesk/internal/bench"
	"damperdesk/internal/book"
	"damperdesk/internal/customer"
	"damperdesk/internal/due"
	"damperdesk/internal/find"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/internal/picture"
	"damperdesk/internal/reconcile"
	"damperdesk/internal/spec"
)

// CustomerBookPage is a customer with their units and all that happened.
type CustomerBookPage struct {
	Base
	Form     Base // of the details
	Clashes  []reconcile.Clash
	Customer customer.Customer
	Units    []customer.Unit
	Closed   []job.Closed
	Alike    []find.Alike      // who may be the same person
	Merged   []customer.Merged // who was found to be
	Part     Base              // for taking one of them apart again
	Messages Base              // for what they want to be written
	Wanted   map[message.Kind]bool
	Reads    Base // for how they read what the shop writes
	Way      customer.Way
	File     Base            // for giving them their file
	Sold     []customer.Sold // units that they had
	History  History
}

func (p CustomerBookPage) path() string { return customerPath(p.Customer.ID) }

// UnitBookPage is the service book of one unit.
type UnitBookPage struct {
	Base
	Unit     customer.Unit
	Customer customer.Customer
	Inside   spec.Inside
	Due      []due.Row
	PutOffs  []due.PutOff
	Ridden   []interval.Used // the newest first, of those before HoursBefore
	Apart    []interval.Contradiction
	// HoursBefore is the reading that those shown came before, 0 for the newest of
	// all; EarlierHours the last one shown, 0 where no earlier one follows.
	HoursBefore  int64
	EarlierHours int64
	Events       []interval.Event // by day
	After        interval.EventRules
	Closed       []job.Closed
	Found        []bench.UnitFinding // newest first
	Pictures     []picture.Picture   // of what was found
	Elsewhere    []book.Work         // what other shops did, newest first, with what was taken back
	ReadIns      []book.ReadIn       // that told of it, the last first
	Link         string              // of the rider's book; empty without one
	Views        []link.Viewed       // of it, the newest first
	LinkForm     Base
	Owners       []customer.Sold // how it went from owner to owner, the last first
	History      History
}

// PictureIDs are those of what was found.
func (p UnitBookPage) PictureIDs() []int64 {
	var ids []int64
	for _, f := range p.Found {
		ids = append(ids, f.Pictures...)
	}
	return ids
}

func (p UnitBookPage) path() string { return unitPath(p.Unit.ID) }

// facts leaves out what is not known.
func (p UnitBookPage) facts() []fact {
	u := p.Unit
	travel := ""
	if u.TravelMM > 0 {
		travel = strconv.Itoa(u.TravelMM) + " mm"
	}
	var known []fact
	for _, f := range []fact{
		{"Kind", u.Kind}, {"Travel", travel}, {"Spring", u.Spring}, {"Serial", u.Serial}, {"Tag", u.Tag},
		{"Bike", strings.TrimSpace(u.BikeColour + " " + u.BikeWords)}, {"Frame", u.FrameNo},
	} {
		if f.words != "" {
			known = append(known, f)
		}
	}
	return known
}

func customerPath(id int64) string { return "/customers/" + strconv.FormatInt(id, 10) }

func unitPath(id int64) string { return "/units/" + strconv.FormatInt(id, 10) }

// olderClosed is the id that the next page of closed jobs begins before; 0
// when there is no more.
func olderClosed(list []job.Closed) int64 {
	if len(list) < job.ClosedPage {
		return 0
	}
	return list[len(list)-1].ID
}

// unitSmall is what tells two units of one model apart.
func unitSmall(u customer.Unit) string {
	parts := []string{u.Kind}
	if u.Serial != "" {
		parts = append(parts, "serial "+u.Serial)
	}
	if u.Tag != "" {
		parts = append(parts, "tag "+u.Tag)
	}
	if bike := strings.TrimSpace(u.BikeColour + " " + u.BikeWords); bike != "" {
		parts = append(parts, "on "+bike)
	}
	return strings.Join(parts, ", ")
}

// detailTerm names a field of a customer's details.
func detailTerm(field string) string {
	return map[string]string{"name": "Name", "phone": "Phone", "mail": "Mail", "address": "Address"}[field]
}

func asTyped(_, text string) string { return text }
