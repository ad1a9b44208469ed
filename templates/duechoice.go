package templates

import (
	"fmt"
	"time"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

// Propose chooses whom to invite of those on the page, the most urgent first, and
// reckons what that makes of the coming weeks. Nobody is invited who was already since
// the service was last done, or who has not said that such mail is welcome.
func (p *DuePage) Propose(minutes func(due.Row) time.Duration) {
	var may []due.Candidate
	for _, r := range p.Rows {
		if p.urgent(r) && p.may(r) && p.ByMail[r.CustomerID] {
			may = append(may, due.Candidate{UnitID: r.ID, Service: r.Code, CustomerID: r.CustomerID, Work: minutes(r)})
		}
	}
	free := make([]time.Duration, len(p.Weeks))
	for i, w := range p.Weeks {
		free[i] = w.Free()
	}
	p.Chosen = map[string]bool{}
	var work time.Duration
	for _, i := range due.Choose(may, free, p.Share, p.Most) {
		p.Chosen[UnitService(may[i].UnitID, may[i].Service)] = true
		work += may[i].Work
	}
	in, over := due.Spread(time.Duration(p.Share*float64(work)), free)
	p.Over = over
	for i, w := range p.Weeks {
		p.Load = append(p.Load, LoadWeek{w, in[i]})
	}
}

// may reports whether somebody may be invited for a row.
func (p DuePage) may(r due.Row) bool {
	if r.Code == "" || r.OpenJobID != 0 || r.Off {
		return false
	}
	_, invited := p.invitedFor(r)
	return !invited
}

// invitedFor is the invitation of whoever has the unit now, since the service was
// last done and since what happened that asks for it. One of the very day on which
// it left was for the time before.
func (p DuePage) invitedFor(r due.Row) (due.Invitation, bool) {
	i, ok := p.Invited[InviteKey(r)]
	if !ok || i.Customer != r.CustomerID {
		return i, false
	}
	day := interval.Day(i.At, p.Prefs.Zone)
	return i, (r.Served == nil || day.After(r.Served.Left)) && (r.Asked == nil || !day.Before(r.Asked.Day()))
}

// urgent reports whether it is time to invite: from soon on.
func (p DuePage) urgent(r due.Row) bool {
	s := r.State()
	return s == interval.Overdue || s == interval.Due || s == interval.Soon
}

// fills says what inviting the chosen does: "Inviting the 4 ticked fills the
// week of 27 Oct and leaves 7 h of it free."
func (p DuePage) fills() string {
	if len(p.Chosen) == 0 {
		return ""
	}
	words := "Inviting the " + num(len(p.Chosen)) + " ticked"
	last := -1
	for i, w := range p.Load {
		if w.Likely > 0 {
			last = i
		}
	}
	switch {
	case last < 0:
		return words + " finds no free hour in these weeks."
	case p.Over > 0:
		return words + fmt.Sprintf(" floods the bench: %.0f h are likely to be more than these weeks have.", p.Over.Hours())
	}
	w := p.Load[last]
	left := w.Free() - w.Likely
	words += " goes into the week of " + p.dayOfMonth(w.From)
	if left < time.Hour {
		words += " and fills it"
	} else {
		words += fmt.Sprintf(" and leaves %.0f h of it free", left.Hours())
	}
	if w.Kept > 0 {
		words += fmt.Sprintf(", besides %.0f h for what nobody has booked", w.Kept.Hours())
	}
	return words + "."
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
	if len(p.Chosen) == 0 {
		return "Invite the ticked"
	}
	return "Invite " + num(len(p.Chosen)) + ", with the mail shown first"
}
