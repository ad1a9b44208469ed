package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/internal/staff"
	"damperdesk/templates"
)

// setting is a row of the shop's page. stands reads how the setting stands, in
// a line of words; empty while it is not set.
type setting struct {
	path, name, what string
	stands           func(ctx context.Context, q db.Querier, b templates.Base) (string, error)
}

// settings are the rows of the shop's page by the heading they stand under.
var settings = []struct {
	heading string
	rows    []setting
}{
	{"Shop", []setting{
		{"/shop/settings", "Name, zone and currency", "on tickets and on the customer’s page", nameStands},
		{"/shop/settings#part-units", "Units", "that values are shown in", unitsStand},
		{"/shop/hours", "Opening hours", "when work can be promised and picked up", hoursStand},
		{"/shop/hours#closures", "Closures", "days and half days off", closuresStand},
		{"/shop/hours#holidays", "Public holidays", "on which the shop is closed", holidaysStand},
		{"/shop/rota", "Who is at the bench", "weeks, absences, and what is kept free", rotaStands},
		{"/shop/rota#sure", "How sure a promise is", "how many of them are to be kept", sureStands},
		{"/shop/terms", "Terms", "that customers accept at drop-off", termsStand},
		{"/shop/messages", "What customers are told", "in which words, and when", messagesStand},
	}},
	{"Customers", []setting{
		{"/messages/setup", "How mail is sent", "when messages go out, and whether they can", quietStands},
		{"/shop/retention", "How long customers are kept", "when those who were not here for long are erased", retentionStands},
	}},
	{"People and tablets", []setting{
		{"/people", "People", "who works here, and as what", peopleStand},
		{"/tablets", "Tablets", "where people sign in by PIN", tabletsStand},
	}},
	{"Work", []setting{
		{"/services", "Services and prices", "what work costs, and its tax", servicesStand},
		{"/services/times", "Book times", "the minutes a service takes, which promises go by", timesStand},
		{"/procedures", "How the work is done", "blocks of steps, and the services made of them", proceduresStand},
		{"/models", "Spec sheets", "that fill in torques, oils and settings at the bench", modelsStand},
		{"/shop/shelf", "How full the shelf is", "what is advised to be ordered", shelfStands},
		{"/tools", "Torque tools", "that torques are signed with", toolsStand},
		{"/shop/below-zero", "Parts below zero", "whether a part is used that the ledger does not have", belowZeroStands},
		{"/intervals", "Intervals", "when each service is due again", intervalsStand},
	}},
}

// shopDone is what the shop's page says after the forms that lead back to it.
var shopDone = map[string]string{
	"settings":  "The settings are saved.",
	"hours":     "The hours are set.",
	"terms":     "The terms are in force.",
	"retention": "It is set how long customers are kept.",
	"below":     "It is set whether parts go below zero.",
	"shelf":     "It is kept. It counts once what to order is reckoned again.",
}

func (a *App) shop(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "The shop")
	if err != nil {
		return err
	}
	base.Done = shopDone[r.URL.Query().Get("done")]
	page := templates.ShopPage{Base: base}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) error {
		for _, g := range settings {
			group := templates.SettingGroup{Name: g.heading}
			for _, s := range g.rows {
				stands, err := s.stands(r.Context(), tx, base)
				if err != nil {
					return err
				}
				group.Rows = append(group.Rows, templates.Setting{Path: s.path, Name: s.name, For: s.what, Stands: stands})
			}
			page.Groups = append(page.Groups, group)
		}
		page.Start, err = readStart(r.Context(), tx, base)
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.Shop(page))
}

// readStart is how far a shop is on its way to the first ticket; nil once it
// has one.
func readStart(ctx context.Context, q db.Querier, b templates.Base) (*templates.ShopStart, error) {
	some, err := job.Any(ctx, q)
	if err != nil || some {
		return nil, err
	}
	var s templates.ShopStart
	if s.Hours, err = hoursStand(ctx, q, b); err != nil {
		return nil, err
	}
	if s.Terms, err = termsStand(ctx, q, b); err != nil {
		return nil, err
	}
	people, err := staff.List(ctx, q)
	if len(people) > 1 {
		s.People = fmt.Sprintf("%d people", len(people))
	}
	return &s, err
}

func nameStands(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	s, err := shop.Get(ctx, q)
	return strings.Join([]string{s.Name, s.Zone, s.Currency}, ", "), err
}

func unitsStand(_ context.Context, _ db.Querier, b templates.Base) (string, error) {
	p := b.Prefs
	return fmt.Sprintf("%s, %s, %s, %s", p.TorqueUnit, p.VolumeUnit, p.PressureUnit, p.MassUnit), nil
}

func hoursStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	h, err := shop.GetHours(ctx, q)
	return shop.WeekWords(h.Openings), err
}

func closuresStand(ctx context.Context, q db.Querier, b templates.Base) (string, error) {
	h, err := shop.GetHours(ctx, q)
	if err != nil {
		return "", err
	}
	shut, err := promisedWhenShut(ctx, q, h, b)
	if err != nil {
		return "", err
	}
	words := "none ahead"
	if ahead := b.BreaksAhead(h); len(ahead) > 0 {
		words = "next: " + b.BreakWords(ahead[0])
	}
	if len(shut) > 0 {
		words += "; " + templates.ShutWords(len(shut))
	}
	return words, nil
}

func termsStand(ctx context.Context, q db.Querier, b templates.Base) (string, error) {
	editions, err := shop.Editions(ctx, q)
	if len(editions) == 0 {
		return "", err
	}
	return b.EditionWords(len(editions), editions[0]), err
}

func peopleStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	people, err := staff.List(ctx, q)
	here := slices.DeleteFunc(people, func(p staff.Person) bool { return p.LeftOn != nil })
	with := func(role string) int {
		return len(slices.DeleteFunc(slices.Clone(here), func(p staff.Person) bool { return !p.Has(role) }))
	}
	return fmt.Sprintf("%d here: %d at the front desk, %d at the bench", len(here), with(desk), with(mechanic)), err
}

func tabletsStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	tablets, err := staff.Devices(ctx, q)
	tablets = slices.DeleteFunc(tablets, func(d staff.Device) bool { return d.RevokedAt != nil })
	if len(tablets) == 0 {
		return "", err
	}
	return fmt.Sprintf("%d enrolled", len(tablets)), err
}

func modelsStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	models, err := spec.Models(ctx, q)
	if len(models) == 0 {
		return "", err
	}
	sheets := len(slices.DeleteFunc(slices.Clone(models), func(m spec.Model) bool { return m.Revision == 0 }))
	return fmt.Sprintf("%d in the library, %d with a sheet in force", len(models), sheets), err
}

func holidaysStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	h, err := shop.GetHours(ctx, q)
	return templates.RegionWords(h), err
}

func rotaStands(ctx context.Context, q db.Querier, b templates.Base) (string, error) {
	bench, err := shop.GetBench(ctx, q, b.ShopDay())
	people := map[int64]bool{}
	for _, r := range bench.Rotas {
		people[r.StaffID] = true
	}
	words := "everybody when the shop is open"
	if len(people) > 0 {
		words = fmt.Sprintf("%d with a week of their own", len(people))
	}
	if n := len(bench.Absences); n > 0 {
		words += fmt.Sprintf("; %d away or going to be", n)
	}
	return fmt.Sprintf("%s; %d\u00a0%% kept free", words, bench.Reserve), err
}

func sureStands(ctx context.Context, q db.Querier, b templates.Base) (string, error) {
	bench, err := shop.GetBench(ctx, q, b.ShopDay())
	return fmt.Sprintf("%d in 100 are to be kept", bench.Sure), err
}

func timesStand(ctx context.Context, q db.Querier, _ templates.Base) (string, error) {
	times, err := job.Minutes(ctx, q)
	return templates.TimesWords(times), err
}
