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

// loadWeeks is how many weeks the due list shows.
const loadWeeks = 6

// proposeInvites fills in the coming weeks at the bench, what each row is worth,
// and whom to invite so that the bench fills and does not flood.
func (a *App) proposeInvites(ctx context.Context, q db.Querier, p *templates.DuePage) error {
	line, err := plan.Read(ctx, q, p.Now)
	if err != nil {
		return err
	}
	times, err := job.Minutes(ctx, q)
	if err != nil {
		return err
	}
	if p.Invited, err = invitedSince(ctx, q, p.Rows); err != nil {
		return err
	}
	if p.ByMail, p.ByPhone, err = due.Wanting(ctx, q, customersOf(p.Rows)); err != nil {
		return err
	}
	if err := pricedDue(ctx, q, p); err != nil {
		return err
	}
	came, invited, err := due.Came(ctx, q, p.Now)
	if err != nil {
		return err
	}
	p.Share, p.Counted = due.ShareOf(came, invited)
	minutes := func(r due.Row) time.Duration {
		work, _ := times.For(job.Work{Services: []string{r.Code}, ModelID: r.ModelID})
		return time.Duration(work * float64(time.Minute))
	}
	p.Weeks = line.Weeks(loadWeeks)
	p.Propose(minutes)
	return nil
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

// pricedDue says what the service of each row on the page costs.
func pricedDue(ctx context.Context, q db.Querier, p *templates.DuePage) error {
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return err
	}
	prices, err := bill.Listed(ctx, q)
	if err != nil {
		return err
	}
	p.Worth = map[string]int64{}
	for _, r := range p.Rows {
		if minor := prices.For(r.Code, r.ModelID, settings.Currency).Minor; minor != nil && r.Code != "" {
			p.Worth[templates.InviteKey(r)] = *minor
		}
	}
	return nil
}
