package web

import (
	"context"
	"time"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/job"
	"damperdesk/internal/plan"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

const (
	// loadWeeks is how many weeks the due list shows.
	loadWeeks = 6
	// farthest is how many rows a proposal looks at.
	farthest = 2000
)

// proposeInvites ticks whom to invite of the whole part of the list, page by page, so
// that the bench fills and does not flood; or those whom somebody ticked. It says what
// that makes of the coming weeks.
func proposeInvites(ctx context.Context, q db.Querier, p *templates.DuePage, ask due.Ask) error {
	room, err := readRoom(ctx, q, p.Now)
	if err != nil {
		return err
	}
	var ticked []due.Row
	if p.ByHand {
		if ticked, err = stillTicked(ctx, q, p); err != nil {
			return err
		}
	} else {
		may, err := proposable(ctx, q, *p, ask)
		if err != nil {
			return err
		}
		ticked = room.choose(may, p.Most)
	}
	p.Ticked = nil
	for _, r := range ticked {
		p.Ticked = append(p.Ticked, templates.InviteKey(r))
	}
	p.Filling = room.fill(ticked)
	return standing(ctx, q, p, p.Rows)
}

// standing reads who of some rows was invited before, and in which way they can be.
func standing(ctx context.Context, q db.Querier, p *templates.DuePage, rows []due.Row) (err error) {
	if p.Invited, err = invitedSince(ctx, q, rows); err != nil {
		return err
	}
	p.ByMail, p.ByPhone, err = due.Wanting(ctx, q, customersOf(rows))
	return err
}

// proposable are the first of the part of the list that may be proposed.
func proposable(ctx context.Context, q db.Querier, p templates.DuePage, ask due.Ask) ([]due.Row, error) {
	ask.Rows = farthest
	rows, err := due.Urgent(ctx, q, p.Now, ask)
	if err != nil {
		return nil, err
	}
	if err := standing(ctx, q, &p, rows); err != nil {
		return nil, err
	}
	return p.Candidates(rows), nil
}

// stillTicked reads what was ticked by hand, without whoever was invited since.
func stillTicked(ctx context.Context, q db.Querier, p *templates.DuePage) ([]due.Row, error) {
	rows, err := due.Chosen(ctx, q, p.Now, inviteKeys(p.Ticked))
	if err != nil {
		return nil, err
	}
	invited, err := invitedSince(ctx, q, rows)
	if err != nil {
		return nil, err
	}
	fresh, _ := p.Uninvited(invited, rows)
	return fresh, nil
}

// room is what the bench has for those who are invited.
type room struct {
	weeks   []plan.Week
	times   job.Times
	share   float64 // of the invited who come
	counted bool
}

func readRoom(ctx context.Context, q db.Querier, now time.Time) (r room, err error) {
	line, err := plan.Read(ctx, q, now)
	if err != nil {
		return r, err
	}
	r.weeks = line.Weeks(loadWeeks)
	if r.times, err = job.Minutes(ctx, q); err != nil {
		return r, err
	}
	came, invited, err := due.Came(ctx, q, now)
	r.share, r.counted = due.ShareOf(came, invited)
	return r, err
}

func (b room) work(r due.Row) time.Duration {
	minutes, _ := b.times.For(job.Work{Services: []string{r.Code}, ModelID: r.ModelID})
	return time.Duration(minutes * float64(time.Minute))
}

// choose picks of rows whom to invite, or as many as most says.
func (b room) choose(rows []due.Row, most int) (picked []due.Row) {
	list := make([]due.Candidate, len(rows))
	for i, r := range rows {
		list[i] = due.Candidate{UnitID: r.ID, Service: r.Code, CustomerID: r.CustomerID, Work: b.work(r)}
	}
	free := make([]time.Duration, len(b.weeks))
	for i, w := range b.weeks {
		free[i] = w.Free()
	}
	for _, i := range due.Choose(list, free, b.share, most) {
		picked = append(picked, rows[i])
	}
	return picked
}

func (b room) fill(rows []due.Row) templates.Filling {
	var work time.Duration
	for _, r := range rows {
		work += b.work(r)
	}
	return templates.Fill(b.weeks, len(rows), work, b.share, b.counted)
}

func customersOf(rows []due.Row) []int64 {
	ids := make([]int64, len(rows))
	for i, r := range rows {
		ids[i] = r.CustomerID
	}
	return ids
}

// invitedSince are the newest invitations of some rows by unit and service,
// without those that reached nobody.
func invitedSince(ctx context.Context, q db.Querier, rows []due.Row) (map[string]due.Invitation, error) {
	units := make([]int64, len(rows))
	for i, r := range rows {
		units[i] = r.ID
	}
	list, err := due.Invitations(ctx, q, units)
	if err != nil {
		return nil, err
	}
	newest := map[string]due.Invitation{}
	for _, i := range list {
		if key := templates.UnitService(i.UnitID, i.Service); i.Reached() {
			if _, ok := newest[key]; !ok {
				newest[key] = i
			}
		}
	}
	return newest, nil
}

// prices say what services cost in the shop's currency.
type prices struct {
	listed   bill.List
	currency string
}

func pricing(ctx context.Context, q db.Querier) (p prices, err error) {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return p, err
	}
	p.currency = settings.Currency
	p.listed, err = bill.Listed(ctx, q)
	return p, err
}

// list are the prices of all that stands on the due list of a service, or of all.
func (p prices) list(ctx context.Context, q db.Querier, service string) (map[due.Kind]int64, error) {
	kinds, err := due.Kinds(ctx, q, service)
	if err != nil {
		return nil, err
	}
	worth := map[due.Kind]int64{}
	for _, k := range kinds {
		if minor := p.listed.For(k.Service, k.ModelID, p.currency).Minor; minor != nil {
			worth[k] = *minor
		}
	}
	return worth, nil
}

// rows are the prices of some rows, by templates.InviteKey.
func (p prices) rows(rows []due.Row) map[string]int64 {
	worth := map[string]int64{}
	for _, r := range rows {
		if minor := p.listed.For(r.Code, r.ModelID, p.currency).Minor; minor != nil && r.Code != "" {
			worth[templates.InviteKey(r)] = *minor
		}
	}
	return worth
}
