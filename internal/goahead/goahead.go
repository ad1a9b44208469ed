// Package goahead keeps what is proposed for what was found, at a price, and
// what the customer says to it.
//
// A proposal that stays inside the spending limit of the visit goes ahead and
// says so; one beyond it waits for the customer. Silence is never a yes.
// Writers lock the row of the visit, so that each is reckoned on all before it.
package goahead

import (
	"slices"
	"time"
)

// Proposal is work proposed for a finding, as it stands: what was proposed
// before in its place is left out. Prices hold their tax.
type Proposal struct {
	ID           int64
	FindingID    int64
	FindingWords string
	JobID        int64
	Number       int // the ticket
	Words        string
	Minor        int64
	Currency     string
	TotalMinor   int64 // what the visit came to with it, as it was made
	Ahead        bool  // it was inside the limit then
	HoldID       *int64
	Day
	ServiceCode string // the service that it is; empty: none of the list
	Service     string // its name
	OnJob       bool   // and it is on the job by now
	Actor       string
	At          time.Time

	AnswerID int64 // 0: no answer yet
	Yes      bool
	How      string
	Who      string // said so
	AnswerBy string // wrote it down; on their page: was signed in there, mostly nobody
	AnswerAt *time.Time

	CallAt     *time.Time // when they last asked to be rung; nil: never
	CallWho    string
	CallWords  string     // when, and on which number
	SpokenAt   *time.Time // when the desk last spoke with somebody about it
	RemindedAt *time.Time // when it last reached for them; nil: never
	RemindedBy string
	Reminded   string // how

	Billed  bool // it is on the bill
	Settled bool // the finding was put right or withdrawn
	Void    bool // the finding was withdrawn
}

// Day is what a proposal takes, and the day that was said with it.
type Day struct {
	Minutes    int        // at the bench, beyond what the job is here for; 0: not known
	PartsOn    *time.Time // the day its parts are expected, at midnight UTC; nil: it waits for none
	ReadyOn    *time.Time // the day it is ready with it, at midnight UTC; nil: not known
	ReadyAt    *time.Time // the time of that day which is promised with it; nil: none is
	InsteadOf  *time.Time // what was promised as it was made
	ExpectedAt *time.Time // when the work was expected to be ready with it; nil: nobody could say
	ProposedAt *time.Time // what the line-up proposed to promise with it
}

// Moves reports whether a yes moves the promise that stood as it was made.
func (d Day) Moves() bool { return d.ReadyAt != nil && d.ReadyAt.After(*d.InsteadOf) }

// Goes reports whether the work may be done: by the customer's yes, or inside
// the limit while nobody has said no.
func (p Proposal) Goes() bool {
	if p.AnswerID != 0 {
		return p.Yes
	}
	return p.Ahead
}

// Waits reports whether nobody may go on with it before the customer has said
// something.
func (p Proposal) Waits() bool { return p.AnswerID == 0 && !p.Ahead && !p.Settled }

// AsksCall reports whether the customer asked to be rung, and neither said
// anything nor was spoken with since.
func (p Proposal) AsksCall() bool {
	before := func(t *time.Time) bool { return t == nil || t.Before(*p.CallAt) }
	return p.CallAt != nil && !p.Void && before(p.AnswerAt) && before(p.SpokenAt)
}

// remindAfter is how long silence lasts before the desk is to ask again: a day,
// common practice (no source).
const remindAfter = 24 * time.Hour

// RemindAt is when the desk is to ask again.
func (p Proposal) RemindAt() time.Time {
	last := p.At
	if p.RemindedAt != nil {
		last = *p.RemindedAt
	}
	return last.Add(remindAfter)
}

// Standing is what a visit comes to for its customer, tax and all, and what may
// be spent without asking.
type Standing struct {
	Currency    string
	LimitMinor  *int64 // nil: ask for everything
	BilledMinor int64  // on the bill
	ListedMinor int64  // services wanted that are not on it, at the listed price
	AheadMinor  int64  // proposals that go ahead and are not on it
}

// TotalMinor is what it comes to.
func (s Standing) TotalMinor() int64 { return s.BilledMinor + s.ListedMinor + s.AheadMinor }

// LeftMinor is what is left of the limit, below zero where it is spent; 0
// without a limit.
func (s Standing) LeftMinor() int64 {
	if s.LimitMinor == nil {
		return 0
	}
	return *s.LimitMinor - s.TotalMinor()
}

// Inside reports whether so much more may be spent without asking. Where
// everything is asked for, that is never so, not even for nothing.
func (s Standing) Inside(minor int64) bool {
	return s.LimitMinor != nil && s.TotalMinor()+minor <= *s.LimitMinor
}

// OnPage is how a customer answers whom nobody writes down.
const OnPage = "on their page"

// Hows is how a customer may have answered somebody at the desk.
var Hows = []string{"by phone", "at the counter", "in writing"}

// ReminderHows is how the desk may reach for a customer.
var ReminderHows = []string{"by phone", "by message", "at the counter"}

// OfFinding is the proposal for a finding; nil for none.
func OfFinding(list []Proposal, findingID int64) *Proposal {
	i := slices.IndexFunc(list, func(p Proposal) bool { return p.FindingID == findingID })
	if i < 0 {
		return nil
	}
	return &list[i]
}

// Undecided is what else of a visit waits for the customer, beside what is
// proposed for a finding.
func Undecided(list []Proposal, findingID int64) []Proposal {
	return slices.DeleteFunc(slices.Clone(list), func(p Proposal) bool {
		return !p.Waits() || p.Void || p.OnJob || p.FindingID == findingID
	})
}

// aheadMinor adds up what goes ahead and is not on the bill, but for the one
// that stands in place of another.
func aheadMinor(list []Proposal, but int64) int64 {
	var sum int64
	for _, p := range list {
		if p.Goes() && !p.Billed && !p.Void && p.ID != but {
			sum += p.Minor
		}
	}
	return sum
}
