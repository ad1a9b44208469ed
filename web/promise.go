package web

import (
	"context"
	"maps"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/message"
	"damperdesk/internal/partslist"
	"damperdesk/internal/plan"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

const (
	promiseDays   = 5   // closing times offered
	promiseBefore = 3   // of those, how many before the first day with room
	closingsAhead = 160 // looked through for them
)

// dropOffPromise answers promise.js with what the line says of the drop-off as
// it stands.
func (a *App) dropOffPromise(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Drop-off")
	if err != nil {
		return err
	}
	base.Typed = r.URL.Query()
	var part templates.PromisePart
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		part, err = promisePart(r.Context(), tx, base, askedIn(r.URL.Query().Get).units)
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.DropOffPromise(part))
}

// promisePart reads the units from what was typed, and says by when they may be
// ready and what they come to.
func promisePart(ctx context.Context, q db.Querier, base templates.Base, units int) (templates.PromisePart, error) {
	part := templates.PromisePart{Base: base}
	line, err := plan.Read(ctx, q, base.Now)
	if err != nil {
		return part, err
	}
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return part, err
	}
	f := &form{values: base.Typed, faults: map[string]string{}}
	d := f.dropOff(settings, asked{units: units})
	d.BookedFor = f.day("booked") // whichever button comes next
	for _, u := range d.Units {
		part.Worked = part.Worked || len(u.Services) > 0
	}
	if !part.Worked {
		for _, at := range line.Closings(base.Now, promiseDays) {
			part.Days = append(part.Days, templates.PromiseDay{At: at})
		}
		return part, nil
	}
	work, err := unitsOf(ctx, q, d)
	if err != nil {
		return part, err
	}
	if part.Lacks, part.PartsOn, err = unshelved(ctx, q, base.Now, work); err != nil {
		return part, err
	}
	part.LimitMinor = d.LimitMinor
	if part.Estimate, err = bill.Foretell(ctx, q, pricedUnits(d, work), settings.Currency, taxing(settings)); err != nil {
		return part, err
	}
	from := comes(d)
	part.Proposal = line.Propose(work, from)
	weigh := func(at time.Time) plan.Outlook { return line.Weigh(work, from, at) }
	part.Days = daysAround(line.Closings(from, closingsAhead), part.Proposal.Promise, weigh)
	part.Base.Typed = chosenAlong(base.Typed, part.Proposal.Promise)
	part.Typed = typedPromise(f, base, weigh)
	return part, nil
}

// promiseBase has the service in it that another page leads to the drop-off for.
func promiseBase(base templates.Base, ask asked) templates.Base {
	if base.Typed == nil && ask.service != "" {
		base.Typed = url.Values{"unit0.services": {ask.service}, "unit0.unit": {strconv.FormatInt(ask.unit, 10)}}
	}
	return base
}

// daysAround are the proposed day with some before it and the one after it; the
// next ones where none is proposed.
func daysAround(closings []time.Time, proposed time.Time, weigh func(time.Time) plan.Outlook) []templates.PromiseDay {
	first := 0
	for i, at := range closings {
		if at.Equal(proposed) {
			first = max(0, i-promiseBefore)
		}
	}
	var days []templates.PromiseDay
	for _, at := range closings[first:min(first+promiseDays, len(closings))] {
		day := templates.PromiseDay{At: at, Proposed: at.Equal(proposed)}
		if !day.Proposed {
			day.Outlook = weigh(at)
		}
		days = append(days, day)
	}
	return days
}

// chosenAlong chooses what is proposed now where the former proposal was chosen,
// or nothing.
func chosenAlong(typed url.Values, proposed time.Time) url.Values {
	if chosen := typed.Get("promise"); typed == nil || chosen != "" && chosen != typed.Get("proposed") {
		return typed
	}
	typed = maps.Clone(typed)
	typed.Set("promise", proposed.UTC().Format(time.RFC3339))
	return typed
}

// typedPromise weighs a time that is none of those listed.
func typedPromise(f *form, base templates.Base, weigh func(time.Time) plan.Outlook) *templates.TypedPromise {
	if chosen := f.text("promise"); f.text("promised") == "" || chosen != "" && chosen != "other" && chosen != f.text("proposed") {
		return nil
	}
	at := f.moment("promised", base.Prefs.Zone)
	if !at.After(base.Now) {
		return nil
	}
	return &templates.TypedPromise{At: at, Outlook: weigh(at)}
}

// comes is when booked units come; the zero time is now.
func comes(d job.DropOff) time.Time {
	if d.BookedFor == nil {
		return time.Time{}
	}
	y, m, day := d.BookedFor.Date()
	return time.Date(y, m, day, 0, 0, 0, 0, d.Zone)
}

// unitsOf are the units of a drop-off as the line takes them.
func unitsOf(ctx context.Context, q db.Querier, d job.DropOff) ([]plan.Unit, error) {
	var list []plan.Unit
	for _, u := range d.Units {
		list = append(list, plan.Unit{
			Work:   job.Work{Services: u.Services, ModelID: u.NewUnit.ModelID, WholeBike: u.CameAs == "whole bike"},
			UnitID: u.UnitID, MechanicID: u.MechanicID, Unopened: u.Payer == job.PaysWarranty,
			Facts: procedure.Facts{Kind: u.NewUnit.Kind, CameAs: u.CameAs, Symptoms: u.Symptoms}})
	}
	return list, plan.Recognize(ctx, q, list)
}

// unshelved says what the shelf lacks for each of the units and by when it can be here,
// and has the line reckon with that.
func unshelved(ctx context.Context, q db.Querier, now time.Time, units []plan.Unit) (lacks [][]partslist.Need, on []*time.Time, err error) {
	jobs := make([]partslist.Job, len(units))
	for i, u := range units {
		jobs[i] = partslist.Job{Services: u.Services, ModelID: u.ModelID}
	}
	if lacks, err = partslist.Foresee(ctx, q, jobs); err != nil {
		return nil, nil, err
	}
	on = make([]*time.Time, len(units))
	for i := range units {
		if len(lacks[i]) == 0 {
			continue
		}
		if on[i], err = partslist.ExpectedOn(ctx, q, lacks[i], interval.Day(now, time.UTC)); err != nil {
			return nil, nil, err
		}
		units[i].Lacks, units[i].PartsOn = true, on[i]
	}
	return lacks, on, nil
}

// pricedUnits are the units of a drop-off as the price list takes them.
func pricedUnits(d job.DropOff, work []plan.Unit) (list []bill.Unit) {
	for i, u := range d.Units {
		list = append(list, bill.Unit{Services: u.Services, ModelID: work[i].ModelID, Payer: bill.PayerOf(u.PaidBy())})
	}
	return list
}

// taxing is how the shop has its prices.
func taxing(s shop.Settings) bill.Taxing {
	return bill.Taxing{Included: s.PricesIncludeTax, ByLine: s.TaxByLine}
}

// foresee keeps with a drop-off what the line says of it.
func foresee(ctx context.Context, q db.Querier, at time.Time, d *job.DropOff) error {
	line, err := plan.Read(ctx, q, at)
	if err != nil {
		return err
	}
	units, err := unitsOf(ctx, q, *d)
	if err != nil {
		return err
	}
	if _, _, err := unshelved(ctx, q, at, units); err != nil {
		return err
	}
	proposal := line.Propose(units, comes(*d))
	d.Foreseen = job.Foreseen{Proposed: proposal.Promise, Expected: proposal.Expected}
	if !d.PromisedAt.Equal(proposal.Promise) {
		d.Foreseen.Expected = line.Weigh(units, comes(*d), d.PromisedAt).Expected
	}
	return nil
}

// pinSameDay pins what was promised sooner than there is room, for the day
// itself.
func pinSameDay(ctx context.Context, tx pgx.Tx, by history.By, d job.DropOff, visitID int64) error {
	if d.BookedFor != nil || job.HowPromised(by.At, d.PromisedAt, d.Foreseen, d.Zone) != job.SameDay {
		return nil
	}
	v, err := job.Visit(ctx, tx, visitID)
	if err != nil {
		return err
	}
	day := interval.Day(by.At, d.Zone)
	for _, j := range v.Jobs {
		if err := job.PinJob(ctx, tx, by, job.Pin{JobID: j.ID, Kind: job.PinnedToDay, Day: &day, Reason: "promised for the same day"}); err != nil {
			return err
		}
	}
	return nil
}

func (a *App) promise(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		return a.promisePage(r.Context(), base, id)
	})
}

func (a *App) promisePage(ctx context.Context, base templates.Base, id int64) (templ.Component, error) {
	page := templates.MovePage{Base: base}
	page.Title = "Move the promise of visit " + strconv.FormatInt(id, 10)
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if page.Visit, err = job.Visit(ctx, tx, id); err != nil {
			return err
		}
		if page.Given, err = job.Promises(ctx, tx, id); err != nil {
			return err
		}
		line, err := plan.Read(ctx, tx, base.Now)
		if err != nil {
			return err
		}
		page.Expected = expectedOf(line, id)
		page.Part = movePart(base, line, id)
		return nil
	})
	return templates.MovePromise(page), err
}

// expectedOf is what the line says of a visit; nil where nothing is to be done.
func expectedOf(line *plan.Plan, visitID int64) *plan.Expected {
	if e, ok := line.Visit(visitID); ok {
		return &e
	}
	return nil
}

// movePart offers the closing times around the first that is as sure as the
// shop wants.
func movePart(base templates.Base, line *plan.Plan, id int64) templates.PromisePart {
	part := templates.PromisePart{Base: base, Worked: true, Moving: true}
	part.Proposal = line.ProposeVisit(id)
	weigh := func(at time.Time) plan.Outlook { return line.WeighVisit(id, at) }
	part.Days = daysAround(line.Closings(base.Now, closingsAhead), part.Proposal.Promise, weigh)
	f := &form{values: base.Typed, faults: map[string]string{}}
	part.Typed = typedPromise(f, base, weigh)
	return part
}

// movePromise moves it, or for the button beside only says what would come of
// it.
func (a *App) movePromise(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	draw := func(base templates.Base) (templ.Component, error) { return a.promisePage(r.Context(), base, id) }
	if f.text("press") == "weigh" {
		return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
			base.Typed = r.PostForm
			return draw(base)
		})
	}
	settings, err := shop.Get(r.Context(), a.pool)
	if err != nil {
		return err
	}
	promised, zone := f.promise(settings.Location()), settings.Location()
	err = a.act(w, r, "promise", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		seen, err := foreseenOf(ctx, tx, by.At, id, promised)
		if err != nil {
			return "", err
		}
		err = job.MovePromise(ctx, tx, by, id, int(f.number("version")), promised, f.text("reason"), seen, zone)
		if err == nil && f.ticked("told") {
			err = message.TellNewest(ctx, tx, by, id, message.Moved)
		}
		if err == nil && f.text("from") == "promises" {
			return "/promises?done=moved", standBack(ctx, tx, by, id)
		}
		return visitPath(id), f.with(err)
	})
	if err == nil {
		return nil
	}
	return a.redisplay(w, r, err, draw)
}

// foreseenOf is what the line says of moving the promise of a visit.
func foreseenOf(ctx context.Context, q db.Querier, at time.Time, id int64, promised time.Time) (job.Foreseen, error) {
	line, err := plan.Read(ctx, q, at)
	if err != nil {
		return job.Foreseen{}, err
	}
	return job.Foreseen{Proposed: line.ProposeVisit(id).Promise, Expected: line.WeighVisit(id, promised).Expected}, nil
}
