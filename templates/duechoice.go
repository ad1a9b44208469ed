package templates

import (
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

// Candidates are the rows that may be proposed, in their order: nobody is invited by
// itself who was already since the service was last done, or who has not said that
// such mail is welcome.
func (p DuePage) Candidates(rows []due.Row) (list []due.Row) {
	for _, r := range rows {
		if p.may(r) && p.ByMail[r.CustomerID] {
			list = append(list, r)
		}
	}
	return list
}

// Uninvited leaves of rows those whose rider was not invited for it yet, and counts
// the others.
func (b Base) Uninvited(newest map[string]due.Invitation, rows []due.Row) (fresh []due.Row, before int) {
	for _, r := range rows {
		if _, invited := b.invitedFor(newest, r); invited {
			before++
		} else {
			fresh = append(fresh, r)
		}
	}
	return fresh, before
}

// elsewhere are the ticked that are not on this page.
func (p DuePage) elsewhere() (keys []string) {
	here := map[string]bool{}
	for _, r := range p.Rows {
		here[InviteKey(r)] = p.may(r)
	}
	for _, key := range p.Ticked {
		if !here[key] {
			keys = append(keys, key)
		}
	}
	return keys
}

// ticks says what is to be known of the ticks besides the weeks they fill.
func (p DuePage) ticks() string {
	n, away := len(p.Ticked), len(p.elsewhere())
	switch {
	case n > due.AtOnce:
		return num(n) + " are ticked: one press invites " + num(due.AtOnce) + " at most. Untick " + num(n-due.AtOnce) + "."
	case n == 0 && p.ByHand:
		return "Nobody is ticked."
	case away == 0:
		return ""
	}
	return "Ticked, but not on this page: " + num(away) + ". All are shown before anything is sent."
}

// may reports whether somebody may be invited for a row.
func (p DuePage) may(r due.Row) bool {
	if r.Code == "" || r.OpenJobID != 0 || r.Off {
		return false
	}
	_, invited := p.invitedFor(r)
	return !invited
}

func (p DuePage) invitedFor(r due.Row) (due.Invitation, bool) {
	return p.Base.invitedFor(p.Invited, r)
}

// invitedFor is the invitation of whoever has the unit now, since the service was
// last done and since what happened that asks for it. One of the very day on which
// it left was for the time before.
func (b Base) invitedFor(newest map[string]due.Invitation, r due.Row) (due.Invitation, bool) {
	i, ok := newest[InviteKey(r)]
	if !ok || i.Customer != r.CustomerID {
		return i, false
	}
	day := interval.Day(i.At, b.Prefs.Zone)
	return i, (r.Served == nil || day.After(r.Served.Left)) && (r.Asked == nil || !day.Before(r.Asked.Day()))
}

// reach says why a row is not ticked by itself, or what became of it.
func (p DuePage) reach(r due.Row) string {
	if i, ok := p.invitedFor(r); ok {
		return "invited " + p.Day(i.At)
	}
	switch {
	case !p.may(r) || p.ByMail[r.CustomerID]:
		return ""
	case p.ByPhone[r.CustomerID]:
		return "by phone"
	}
	return "no way to tell them"
}

func (p DuePage) worth(r due.Row) string {
	minor, ok := p.Worth[InviteKey(r)]
	if !ok {
		return ""
	}
	return p.Prefs.Money(minor, "")
}

func (p DuePage) invitePress() string {
	if len(p.Ticked) == 0 {
		return "Invite the ticked"
	}
	return "Invite " + num(len(p.Ticked)) + ", with the mail shown first"
}
