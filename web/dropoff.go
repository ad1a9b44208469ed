package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/find"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/message"
	"damperdesk/internal/money"
	"damperdesk/internal/procedure"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/templates"
)

const (
	foundAtOnce = 8 // customers a search shows
	mostUnits   = 12
)

// asked is what the drop-off page is drawn from.
type asked struct {
	who      string // to search for
	customer string // an id, templates.SomebodyNew, or empty
	units    int
	// unit and service are chosen already where another page leads here.
	unit    int64
	service string
	form    halfFilled
}

func askedIn(get func(string) string) asked {
	n, _ := strconv.Atoi(get("units"))
	unit, _ := strconv.ParseInt(get("unit"), 10, 64)
	return asked{who: plain(get("who")), customer: get("customer"), units: min(max(n, 1), mostUnits), unit: unit, service: get("service")}
}

func (a *App) dropOffForm(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Drop-off")
	if err != nil {
		return err
	}
	ask := askedIn(r.URL.Query().Get)
	ask.form = halfFilled{draft: uuid.NewString(), hand: uuid.NewString()}
	base.Done = halfFilledDone[r.URL.Query().Get("done")]
	if kept := r.URL.Query().Get("draft"); kept != "" {
		if ask, err = a.fillFrom(r.Context(), &base, kept); err != nil {
			return err
		}
	}
	page, err := a.dropOffPage(r.Context(), base, ask)
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.DropOff(page))
}

// dropOffFind answers find.js with the part of the page that follows from a
// choice: the customers found, or the units of the one who was chosen.
func (a *App) dropOffFind(w http.ResponseWriter, r *http.Request) error {
	base, err := a.base(r, "Drop-off")
	if err != nil {
		return err
	}
	page, err := a.dropOffPage(r.Context(), base, askedIn(r.URL.Query().Get))
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.DropOffPart(page, r.URL.Query().Has("customer")))
}

func (a *App) dropOffPage(ctx context.Context, base templates.Base, ask asked) (templates.DropOffPage, error) {
	p := templates.DropOffPage{Base: base, Who: ask.who, New: ask.customer == templates.SomebodyNew, Count: ask.units,
		Unit: ask.unit, Service: ask.service}
	ask.form.on(&p)
	p.Title = "Drop-off"
	err := db.Read(ctx, a.pool, func(tx pgx.Tx) (err error) {
		if err := readWho(ctx, tx, &p, ask); err != nil {
			return err
		}
		if err := readForms(ctx, tx, &p); err != nil {
			return err
		}
		if p.Models, err = spec.Models(ctx, tx); err != nil {
			return err
		}
		p.Measured = measuredUnits(p.Typed, ask.units)
		if p.Services, err = procedure.Services(ctx, tx); err != nil {
			return err
		}
		p.Services = procedure.Offered(p.Services)
		if p.Usual, err = a.usual.read(ctx, tx, base.Now, p.Services); err != nil {
			return err
		}
		if p.Mechanics, err = mechanics(ctx, tx); err != nil {
			return err
		}
		if p.Promise, err = promisePart(ctx, tx, promiseBase(base, ask), ask.units); err != nil {
			return err
		}
		terms, err := shop.CurrentTerms(ctx, tx)
		if errors.As(err, new(fault.NotFound)) {
			return nil
		}
		p.Terms = &terms
		return err
	})
	return p, err
}

// readWho searches, and reads the chosen customer with their units.
func readWho(ctx context.Context, q db.Querier, p *templates.DropOffPage, ask asked) (err error) {
	found, err := find.All(ctx, q, ask.who)
	if err != nil {
		return err
	}
	p.Found = found.People(foundAtOnce)
	if p.New || ask.customer == "" {
		if p.Alike, err = alikeTo(ctx, q, p.Typed); err != nil {
			return err
		}
	}
	id, err := strconv.ParseInt(ask.customer, 10, 64)
	if err != nil {
		return nil // nobody yet, or somebody new
	}
	c, err := customer.Get(ctx, q, id)
	if errors.As(err, new(fault.NotFound)) {
		return nil
	}
	if err != nil {
		return err
	}
	p.Customer = &c
	for _, f := range p.Found {
		if f.ID == id && f.By != nil && p.Unit == 0 {
			p.Unit = f.By.ID
		}
	}
	if p.Units, err = customer.Units(ctx, q, id); err != nil {
		return err
	}
	p.Recent, err = recentOf(ctx, q, p.Units, p.Now, p.Prefs.Zone)
	return err
}

// dropOff takes the visit in, or, for the buttons beside, draws the form again
// with what was typed and stores nothing.
func (a *App) dropOff(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if _, err := a.keepArriving(r, f); err != nil {
		return err
	}
	ask := askedIn(f.text)
	ask.form = openedAs(f)
	draw := func(base templates.Base) (templ.Component, error) {
		page, err := a.dropOffPage(r.Context(), base, ask)
		return templates.DropOff(page), err
	}
	press := f.text("press")
	if press == "draft" && len(f.faults) == 0 {
		return a.draftAndShow(w, r, f)
	}
	beside, err := a.pressedBeside(r, f, press, &ask)
	switch {
	case err != nil:
		return err
	case !beside:
		if err = a.takeIn(w, r, f, ask); err == nil {
			return nil
		}
	default:
		err = f.err()
	}
	if err != nil {
		return a.redisplay(w, r, err, draw)
	}
	return a.show(w, r, http.StatusOK, func(base templates.Base) (templ.Component, error) {
		base.Typed = r.PostForm
		return draw(base)
	})
}

// pressedBeside does what a button beside the one that takes the visit in is
// for, and says whether it was one.
func (a *App) pressedBeside(r *http.Request, f *form, press string, ask *asked) (beside bool, err error) {
	switch {
	case press == "find", press == "promise":
	case press == "measure":
		for i := range ask.units {
			f.measured(unitPrefix(i))
		}
	case strings.HasPrefix(press, templates.PressUsual):
		return true, a.tickUsual(r.Context(), f, a.Now())
	case press == "draft":
		id, err := a.saveDraft(r, f)
		ask.form = ask.form.keptAs(id)
		return true, err
	case press == "add":
		ask.units = min(ask.units+1, mostUnits)
	default:
		return false, nil
	}
	return true, nil
}

func unitPrefix(i int) string { return fmt.Sprintf("unit%d.", i) }

// linkLasts is how long a customer's address works: as long as a service book
// is of use between two seasons.
const linkLasts = 366 * 24 * time.Hour

// takeIn lets the feature check the visit even where fields could not be read,
// so that everything wrong is said at once.
func (a *App) takeIn(w http.ResponseWriter, r *http.Request, f *form, ask asked) error {
	settings, err := shop.Get(r.Context(), a.pool)
	if err != nil {
		return err
	}
	d := f.dropOff(settings, ask)
	if err := a.asksWho(r.Context(), f, d.NewCustomer); err != nil {
		return err
	}
	if err := a.askAgain(r.Context(), f, d); err != nil {
		return err
	}
	return a.act(w, r, "drop-off", func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
		if err := foresee(ctx, tx, by.At, &d); err != nil {
			return "", err
		}
		if err := f.comesFrom(ctx, tx, &d); err != nil {
			return "", err
		}
		visit, err := job.TakeIn(ctx, tx, by, d)
		if err := f.with(err); err != nil {
			return "", err
		}
		if err := pinSameDay(ctx, tx, by, d, visit); err != nil {
			return "", err
		}
		if err := f.receive(ctx, tx, by, visit); err != nil {
			return "", err
		}
		if err := f.endDraft(ctx, tx); err != nil {
			return "", err
		}
		if _, err := link.Make(ctx, tx, by, a.LinkKey, visit, by.At.Add(linkLasts)); err != nil {
			return "", err
		}
		if err := message.Ask(ctx, tx, by, visit, f.kinds("later")); err != nil {
			return "", err
		}
		return visitPath(visit), bill.Tell(ctx, tx, by, visit, settings.PricesIncludeTax)
	})
}

// with adds the form's own faults to those of a feature.
func (f *form) with(err error) error {
	var invalid *fault.Invalid
	switch {
	case errors.As(err, &invalid):
		for name, sentence := range invalid.Fields {
			f.wrong(name, sentence)
		}
	case err != nil:
		return err
	}
	return f.err()
}

// nobody and nothing stand in for what was not chosen. The form refuses the
// visit for that already, so the feature is to find nothing wrong with them.
var (
	nobody  = customer.Details{Name: "nobody"}
	nothing = customer.UnitDetails{Kind: "fork", ModelWords: "nothing"}
)

// dropOff reads the visit from the form.
func (f *form) dropOff(s shop.Settings, ask asked) job.DropOff {
	d := job.DropOff{
		Came: f.text("came"), GoesBack: f.text("goesback"), Address: f.text("address"), Currency: s.Currency, LimitMinor: f.money("limit", s.Currency),
		PromisedAt: f.promise(s.Location()), Zone: s.Location(),
		TermsID: f.number("termsid"), TermsBy: f.text("terms"), LeftWith: f.text("left"), BookedFor: f.booked(),
	}
	switch {
	case ask.customer == templates.SomebodyNew, ask.customer == "" && f.text("name") != "":
		d.NewCustomer = customer.Details{Name: f.text("name"), Phone: f.text("phone"), Mail: f.text("mail")}
	case ask.customer == "":
		f.wrong("customer", "Find the customer and choose, or say that it is somebody new.")
		d.NewCustomer = nobody
	default:
		d.CustomerID = f.number("customer")
	}
	for i := range ask.units {
		d.Units = append(d.Units, f.dropOffUnit(unitPrefix(i), s.MassUnit))
	}
	return d
}

func (f *form) dropOffUnit(prefix string, mass quantity.Unit) job.DropOffUnit {
	text := func(name string) string { return f.text(prefix + name) }
	u := job.DropOffUnit{
		CameAs: text("cameas"), HangsAt: text("hangs"), Riding: text("riding"), EBike: f.ticked(prefix + "ebike"),
		RiderSure: f.ticked(prefix + "ridersure"), Symptoms: f.list(prefix + "symptoms"), Answers: f.answers(prefix), Complaint: text("complaint"),
		Services: f.list(prefix + "services"), OldParts: text("oldparts"), MechanicID: f.number(prefix + "mechanic"),
		Payer: text("payer"), PayerWords: text("payerwords"), Marks: f.marks(prefix), LeftOn: text("lefton"),
	}
	u.Said, u.Happened = f.said(prefix), f.list(prefix+"happened")
	if v := f.quantity(prefix+"rider", quantity.KindMass, mass); v != nil {
		u.RiderKG, u.RiderEntered = &v.SI, v.Entered
	}
	switch chosen := text("unit"); chosen {
	case "":
		f.wrong(prefix+"unit", "Choose which unit it is, or another one.")
		u.NewUnit = nothing
	case templates.AnotherUnit:
		model, words := f.what(prefix)
		u.NewUnit = customer.UnitDetails{
			Kind: text("kind"), ModelID: model, ModelWords: words, Serial: text("serial"),
			SerialSure: f.ticked(prefix + "serialsure"), Tag: text("tag"), BikeWords: text("bike"), BikeColour: text("colour"), FrameNo: text("frame"),
		}
	default:
		u.UnitID = f.number(prefix + "unit")
		u.Comeback = text("again") == templates.AgainYes(u.UnitID)
	}
	return u
}

// promise is one of the closing times, else the time typed beside them.
func (f *form) promise(zone *time.Location) time.Time {
	if at, err := time.Parse(time.RFC3339, f.text("promise")); err == nil {
		return at
	}
	if f.text("promised") == "" {
		f.wrong("promised", "Say by when it will be ready.")
		return time.Time{}
	}
	return f.moment("promised", zone)
}

// money reads an amount in minor units; nil when the field is empty.
func (f *form) money(name, code string) *int64 {
	t := f.text(name)
	if t == "" {
		return nil
	}
	minor, err := money.Parse(t, code)
	if err != nil {
		sentence := "That is not an amount."
		if bad := new(money.ParseError); errors.As(err, &bad) {
			sentence = bad.Message
		}
		f.wrong(name, sentence)
		return nil
	}
	return &minor
}
