package templates

import (
	"strconv"

	"damperdesk/internal/due"
)

// InvitePage shows whom an invitation goes to before it does.
type InvitePage struct {
	Base
	Guests []Guest
	Letter Letter // as it goes to the first who gets one; the zero one for none
}

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
	case calls == 0:
		return plural(mails, "customer") + " by mail."
	case mails == 0:
		return plural(calls, "customer") + " to ring: none of them wants such mail or has an address."
	}
	return plural(mails, "customer") + " by mail, " + num(calls) + " to ring: they have no address, or have not said that they want such mail."
}

func (p InvitePage) press() string {
	if p.mails() == 0 {
		return "Put them among the calls to make"
	}
	return "Send " + plural(p.mails(), "mail")
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
