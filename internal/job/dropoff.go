package job

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"damperdesk/internal/customer"
	"damperdesk/internal/fault"
	"damperdesk/internal/interval"
	"damperdesk/internal/procedure"
)

// DropOff is what the desk logs when a customer brings units.
type DropOff struct {
	CustomerID  int64 // 0: somebody new
	NewCustomer customer.Details
	Came        string // counter (also for empty), post, other shop
	GoesBack    string // pickup (also for empty), post
	Address     string // where the parcel goes, if not as kept
	PromisedAt  time.Time
	Foreseen    Foreseen   // what the line-up said when it was promised
	LimitMinor  *int64     // nil: ask for everything
	BookedFor   *time.Time // nil: it is here; a day as interval.Day makes it
	Currency    string
	TermsID     int64 // 0: none shown
	TermsBy     string
	LeftWith    string
	Units       []DropOffUnit
	// Draft is the root of the half-filled forms it comes from. Where one of them
	// was taken in already, Another says that this is another visit.
	Draft   uuid.UUID
	Another bool
	// Zone is the shop's, for the day that ride hours count from; nil is UTC.
	Zone *time.Location
}

// DropOffUnit is one unit of a drop-off, a job to be.
type DropOffUnit struct {
	UnitID       int64 // 0: a new one
	NewUnit      customer.UnitDetails
	CameAs       string // unit only (also for empty), unit and wheel, whole bike
	HangsAt      string
	RiderKG      *float64 // with kit
	RiderEntered string
	// RiderSure says that an unusual weight was asked about and is right.
	RiderSure bool
	Riding    string
	// Said is of the riding since the unit was last back from a service here,
	// from which its hours count.
	Said interval.Said
	// Happened is to it since it was last here, of interval.Happenings; a crash
	// also where the symptoms say so.
	Happened  []string
	EBike     bool
	Symptoms  []string // codes
	Answers   []Answer // to what is asked about them
	Complaint string
	Services  []string // codes
	OldParts  string   // bin (also for empty), give back
	// Comeback says that it is the complaint it was here with lately: no charge.
	Comeback   bool
	Payer      string // of Payers; empty: the customer
	PayerWords string // number of the claim; which team or shop
	Marks      []Mark // as it came
	LeftOn     string // what was left on it
	MechanicID int64  // 0: nobody yet
}

// The choices of a drop-off; the first of each stands for none made.
var (
	Comings    = []string{"counter", "post", "other shop"}
	Goings     = []string{"pickup", byPost}
	CameAs     = []string{"unit only", "unit and wheel", "whole bike"}
	OldParts   = []string{"bin", "give back"}
	unknownOne = "Choose one of those listed."
)

const byPost = "post"

const (
	maxUnits      = 12
	maxAddress    = 500                  // characters, as customer.Details has it
	longestAhead  = 366 * 24 * time.Hour // a promise further away is a slip
	leastRiderKG  = 20                   // trade.md, question outside 20 to 160
	mostRiderKG   = 160
	leastWeightKG = 10 // what the table takes at all
	mostWeightKG  = 250
)

func (d DropOff) tidy() DropOff {
	d.Came, d.GoesBack = orFirst(d.Came, Comings), orFirst(d.GoesBack, Goings)
	d.TermsBy, d.LeftWith = strings.TrimSpace(d.TermsBy), strings.TrimSpace(d.LeftWith)
	if d.Address = strings.TrimSpace(d.Address); d.GoesBack != byPost {
		d.Address = ""
	}
	if d.BookedFor != nil && d.TermsBy == "" {
		d.TermsID = 0 // accepted when it comes
	}
	d.Units = slices.Clone(d.Units)
	for i := range d.Units {
		u := &d.Units[i]
		u.CameAs, u.OldParts, u.Payer = orFirst(u.CameAs, CameAs), orFirst(u.OldParts, OldParts), orFirst(u.Payer, Payers)
		u.Payer, u.PayerWords = u.PaidBy()
		for _, s := range []*string{&u.HangsAt, &u.RiderEntered, &u.Riding, &u.Complaint, &u.PayerWords, &u.LeftOn} {
			*s = strings.TrimSpace(*s)
		}
		u.Symptoms, u.Services = once(u.Symptoms), once(u.Services)
		if slices.Contains(u.Symptoms, afterCrash) {
			u.Happened = append(slices.Clone(u.Happened), interval.Crash)
		}
		u.Happened = once(u.Happened)
		u.Answers, u.Marks = answersFor(u.Symptoms, u.Answers), tidyMarks(u.Marks)
	}
	return d
}

// PaidBy is who pays for it, and which claim or team: a comeback is ours.
func (u DropOffUnit) PaidBy() (payer, words string) {
	if u.Comeback {
		return PaysUs, ""
	}
	return u.Payer, u.PayerWords
}

func (d DropOff) zone() *time.Location {
	if d.Zone == nil {
		return time.UTC
	}
	return d.Zone
}

// said is what was said of the riding, with the day its hours count from.
func (u DropOffUnit) said(k known) interval.Said {
	s := u.Said
	if day, ok := k.done[u.UnitID]; ok {
		s.HoursSince = &day
	}
	return s
}

func orFirst(s string, choices []string) string {
	if s == "" {
		return choices[0]
	}
	return s
}

func once(list []string) []string {
	list = slices.Clone(list)
	slices.Sort(list)
	return slices.Compact(list)
}

// faults are sentences by field.
type faults map[string]string

func (f faults) add(field string, wrong bool, sentence string) {
	if wrong && f[field] == "" {
		f[field] = sentence
	}
}

func (f faults) long(field, text string, limit int) {
	f.add(field, utf8.RuneCountInString(text) > limit, tooLong(limit))
}

func (f faults) all(prefix string, more map[string]string) {
	for field, sentence := range more {
		f.add(prefix+field, true, sentence)
	}
}

func (f faults) err() error {
	if len(f) == 0 {
		return nil
	}
	return &fault.Invalid{Fields: f}
}

// known is what the database has of that which a drop-off names.
type known struct {
	customer  bool
	terms     bool
	services  []procedure.Service
	springs   map[int64]string // of the models that are named
	mechanics map[int64]bool
	units     map[int64]customer.Unit // locked
	done      map[int64]time.Time     // the day a unit was last back from a service
	recent    map[int64]Recent        // units that were here lately
}

// check says by field everything that cannot be taken of a tidied drop-off at
// that time, but for what customer.CheckUnit says of new units.
func (d DropOff) check(at time.Time, k known) faults {
	f := faults{}
	if d.CustomerID == 0 {
		f.all("", d.NewCustomer.Check())
	} else {
		f.add("customer", !k.customer, "That customer is not here any more: choose again.")
	}
	f.add("came", !slices.Contains(Comings, d.Came), unknownOne)
	f.long("address", d.Address, maxAddress)
	f.add("goesback", !slices.Contains(Goings, d.GoesBack), unknownOne)
	checkPromise(f, at, d.PromisedAt)
	if d.BookedFor != nil {
		booking(f, *d.BookedFor, d.PromisedAt, interval.Day(at, d.zone()), d.zone())
	}
	f.add("limit", d.LimitMinor != nil && *d.LimitMinor < 0, "A spending limit cannot be below zero.")
	f.add("terms", d.TermsID != 0 && !k.terms, "Those terms are not the shop’s: open the page again.")
	f.add("terms", d.TermsID != 0 && d.TermsBy == "" && d.BookedFor == nil, "Type who accepted the terms.")
	f.long("terms", d.TermsBy, maxShort)
	f.long("left", d.LeftWith, maxLong)
	f.add("units", len(d.Units) == 0, "Add at least one unit.")
	f.add("units", len(d.Units) > maxUnits, fmt.Sprintf("One visit takes at most %d units.", maxUnits))
	seen := map[int64]bool{}
	for i, u := range d.Units {
		prefix := fmt.Sprintf("unit%d.", i)
		f.add(prefix+"unit", u.UnitID != 0 && seen[u.UnitID], "This unit is on the list twice.")
		seen[u.UnitID] = true
		u.check(f, prefix, d.CustomerID, k)
		f.all(prefix, u.said(k).Check(interval.Day(at, d.zone())))
	}
	return f
}

func (u DropOffUnit) check(f faults, prefix string, customerID int64, k known) {
	kind, spring := u.NewUnit.Kind, k.springs[u.NewUnit.ModelID]
	if u.UnitID != 0 {
		unit, ok := k.units[u.UnitID]
		kind, spring = unit.Kind, unit.Spring
		f.add(prefix+"unit", !ok, "That unit is not here any more: choose again.")
		f.add(prefix+"unit", ok && unit.CustomerID != customerID, "That unit is another customer’s: choose again.")
		f.add(prefix+"unit", unit.OpenJob != 0, fmt.Sprintf("%s is here already, on ticket %d.", unit.Name, unit.OpenJob))
	}
	f.add(prefix+"cameas", !slices.Contains(CameAs, u.CameAs), unknownOne)
	f.add(prefix+"oldparts", !slices.Contains(OldParts, u.OldParts), unknownOne)
	f.add(prefix+"mechanic", u.MechanicID != 0 && !k.mechanics[u.MechanicID], "Choose somebody who works here as a mechanic.")
	if kg := u.RiderKG; kg != nil {
		f.add(prefix+"rider", !(*kg >= leastWeightKG && *kg <= mostWeightKG), "That cannot be a rider’s weight: check the number and its unit.")
		f.add(prefix+"rider", !u.RiderSure && (*kg < leastRiderKG || *kg > mostRiderKG),
			fmt.Sprintf("Really %.0f kg? Riders with kit are usually %d to %d kg: check the number and its unit, or confirm it.", *kg, leastRiderKG, mostRiderKG))
	}
	for _, code := range u.Symptoms {
		f.add(prefix+"symptoms", symptomIndex(code) < 0, "One of those is not on the list: choose again.")
	}
	for _, kind := range u.Happened {
		f.add(prefix+"happened", !slices.Contains(interval.Happenings, kind), "One of those is not on the list: choose again.")
	}
	f.add(prefix+"symptoms", len(u.Symptoms) > 1 && slices.Contains(u.Symptoms, JustDue),
		"Either nothing is wrong or something is: clear one of the two.")
	for _, code := range u.Services {
		s, offered := procedure.ByCode(k.services, code)
		refusal := s.Refusal(k.services, kind, spring)
		f.add(prefix+"services", !offered || s.OutOfUse, "One of those services is not offered any more: choose again.")
		f.add(prefix+"services", refusal != "", refusal)
	}
	f.add(prefix+"services", len(u.Services) == 0, "Choose at least one service.")
	f.long(prefix+"hangs", u.HangsAt, maxShort)
	f.long(prefix+"rider", u.RiderEntered, maxShort)
	f.long(prefix+"riding", u.Riding, maxShort)
	f.long(prefix+"complaint", u.Complaint, maxLong)
	f.long(prefix+"lefton", u.LeftOn, maxShort)
	u.checkPayer(f, prefix, k)
	checkMarks(f, prefix, u.Marks)
	for _, a := range u.Answers {
		f.long(prefix+AskField(a.Symptom, a.Question), a.Words, maxShort)
	}
}
