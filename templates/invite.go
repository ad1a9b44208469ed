package templates

import (
	"slices"
	"strconv"

	"damperdesk/internal/due"
)

// InvitePage shows whom an invitation goes to before it does.
type InvitePage struct {
	Base
	Filling
	Guests []Guest
	Ticked []string // by UnitService
	Before int      // services that were chosen too, whose riders were invited before
	Letter Letter   // as it goes to the first who gets one; the zero one for none
}

// IsTicked reports whether a row is.
func (p InvitePage) IsTicked(r due.Row) bool { return slices.Contains(p.Ticked, InviteKey(r)) }

// Guest is a customer with what is due of theirs.
type Guest struct {
	CustomerID int64
	Name       string
	Phone      string
	ByMail     bool // wants such mail, and has an address
	Rows       []due.Row
}

// Letter is a mail as it would be sent.
type Letter struct{ To, Subject, Text string }

// InviteKey names a service of a unit in a form: "12:lower-leg".
func InviteKey(r due.Row) string { return UnitService(r.ID, r.Code) }

// UnitService names a service of a unit: "12:lower-leg".
func UnitService(unit int64, service string) string {
	return strconv.FormatInt(unit, 10) + ":" + service
}

func (p InvitePage) mails() int {
	n := 0
	for _, g := range p.Guests {
		if g.ByMail {
			n++
		}
	}
	return n
}

// lead counts who gets a mail and who is to be rung.
func (p InvitePage) lead() string {
	mails := p.mails()
	calls := len(p.Guests) - mails
	switch {
	case mails+calls == 0:
		return "All of them were invited before."
	case calls == 0:
		return plural(mails, "customer") + " by mail."
	case mails == 0:
		return plural(calls, "customer") + " to ring: none of them wants such mail or has an address."
	}
	return plural(mails, "customer") + " by mail, " + num(calls) + " to ring: they have no address, or have not said that they want such mail."
}

// before counts those who are not invited again.
func (p InvitePage) before() string {
	if p.Before == 0 || len(p.Guests) == 0 {
		return ""
	}
	return "Invited before, and not again: " + num(p.Before) + "."
}

// tooMany warns of more than one press invites for.
func (p InvitePage) tooMany() string {
	if n := len(p.Ticked) - due.AtOnce; n > 0 {
		return "One press invites for " + num(due.AtOnce) + " at most: untick " + num(n) + "."
	}
	return ""
}

func (p InvitePage) press() string {
	if p.mails() == 0 {
		return "Put the ticked among the calls to make"
	}
	return "Invite the ticked"
}

// how says in which way a guest is told.
func (g Guest) how() string {
	switch {
	case g.ByMail:
		return "by mail"
	case g.Phone != "":
		return "to ring"
	}
	return "neither mail nor phone"
}
