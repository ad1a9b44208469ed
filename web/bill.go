package web

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/money"
	"damperdesk/internal/shop"
	"damperdesk/templates"
)

// billDone is what the page of a visit says after each form of its bill.
var billDone = map[string]string{
	"parts":        "The parts that were used are on the bill.",
	"listed":       "The listed prices are on the bill.",
	"line":         "The line is on the bill.",
	"line-back":    "The line is taken back.",
	"payment":      "The payment is kept.",
	"payment-back": "The payment is taken back.",
}

// visitBill reads the bill for the page of its visit. Only the form that was
// sent shows what was typed.
func visitBill(ctx context.Context, q db.Querier, base templates.Base, id int64, sent string) (templates.VisitBill, error) {
	alone := func(form string) templates.Base { return base.Alone(uuid.NewString(), form == sent) }
	v := templates.VisitBill{Forms: templates.BillForms{
		Listed: alone("listed"), Parts: alone("parts"), Line: alone("line"), LineBack: alone("line-back"), Payment: alone("payment"), PaymentBack: alone("payment-back"),
	}}
	settings, err := shop.Get(ctx, q)
	if err != nil {
		return v, err
	}
	v.Inside = settings.PricesIncludeTax
	if v.Bill, err = bill.Get(ctx, q, id); err != nil {
		return v, err
	}
	if v.Offers, err = bill.Offers(ctx, q, id); err != nil {
		return v, err
	}
	if v.Parts, err = bill.Parts(ctx, q, id); err != nil {
		return v, err
	}
	v.Rates, err = bill.TaxRates(ctx, q)
	return v, err
}

// billChange does the work of one form of a bill.
type billChange func(ctx context.Context, tx pgx.Tx, by history.By, visit int64, f *form) error

// changeBill makes the handler of the form of a bill called name.
func changeBill(name string, change billChange) handler {
	return func(a *App, w http.ResponseWriter, r *http.Request) error {
		id, err := a.id(r, "id")
		if err != nil {
			return err
		}
		f, err := readForm(r)
		if err != nil {
			return err
		}
		return a.take(w, r, f, "bill "+name, func(ctx context.Context, tx pgx.Tx, by history.By) (string, error) {
			return visitPath(id) + "?done=" + name, change(ctx, tx, by, id, f)
		}, func(base templates.Base) (templ.Component, error) {
			return a.visitPage(r, base, id, name)
		})
	}
}

// within gives the sentences about fields to those of the form, whose names
// have its own word before them.
func within(form string, err error) error {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		return err
	}
	fields := map[string]string{}
	for name, sentence := range invalid.Fields {
		fields[form+"."+strings.TrimPrefix(name, form+".")] = sentence
	}
	return &fault.Invalid{Fields: fields}
}

func takeListed(ctx context.Context, tx pgx.Tx, by history.By, visit int64, _ *form) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	return goahead.TakeListed(ctx, tx, by, visit, settings.PricesIncludeTax)
}

func billParts(ctx context.Context, tx pgx.Tx, by history.By, visit int64, _ *form) error {
	settings, err := shop.Get(ctx, tx)
	if err != nil {
		return err
	}
	return bill.TakeParts(ctx, tx, by, visit, settings.PricesIncludeTax)
}

// addLine takes a price to hold its tax where the form said so beside it, even
// if the shop types its prices otherwise since.
func addLine(ctx context.Context, tx pgx.Tx, by history.By, visit int64, f *form) error {
	of, err := bill.Get(ctx, tx, visit)
	if err != nil {
		return err
	}
	l := bill.NewLine{
		Kind: f.text("line.kind"), Words: f.text("line.words"), TaxCode: f.text("line.tax"), TaxIncluded: f.ticked("line.inside"),
		Payer: f.text("line.payer"), PayerWords: f.text("line.payerwords"), DiscountReason: f.text("line.discountreason"),
		QtyMilli: f.times("line.quantity"),
	}
	number, service, _ := strings.Cut(f.text("line.for"), " ")
	if l.JobID, err = strconv.ParseInt(number, 10, 64); err != nil {
		f.wrong("line.for", "Choose what the line is for.")
	}
	l.ServiceCode = service
	if price, share := f.amountOrRate("line.price", of.Currency); price != nil {
		l.UnitMinor, l.ShareBP = *price, share
	} else {
		f.wrong("line.price", "Type what one costs, 0 if nothing.")
	}
	if less, share := f.amountOrRate("line.discount", of.Currency); less != nil {
		l.DiscountMinor, l.DiscountBP = *less, share
	}
	if f.err() != nil {
		l.DiscountMinor, l.DiscountBP, l.DiscountReason = 0, 0, "" // what may be taken off follows from what could not be read
	}
	return f.with(within("line", bill.AddLine(ctx, tx, by, visit, l)))
}

// amountOrRate reads an amount, or what is typed in per cent; nil when the field
// is empty or says neither.
func (f *form) amountOrRate(name, code string) (minor *int64, bp int) {
	t := f.text(name)
	if !strings.HasSuffix(t, "%") {
		return f.money(name, code), 0
	}
	bp, err := money.ParseRate(t)
	switch {
	case err != nil:
		f.wrong(name, err.Error())
	case bp == 0:
		f.wrong(name, "Nothing is no share: type per cent above zero, or leave it empty.")
	}
	return new(int64), bp
}

func takeLineBack(ctx context.Context, tx pgx.Tx, by history.By, visit int64, f *form) error {
	line := f.number("back.line")
	if err := f.err(); err != nil {
		return err
	}
	return within("back", bill.TakeBack(ctx, tx, by, visit, line, f.text("back.reason")))
}

func takePayment(ctx context.Context, tx pgx.Tx, by history.By, visit int64, f *form) error {
	of, err := bill.Get(ctx, tx, visit)
	if err != nil {
		return err
	}
	ways := f.list("payment.way")
	p := bill.NewPayment{Kind: f.text("payment.kind"), Words: f.text("payment.words"),
		Ahead: slices.Contains(ways, "ahead"), Back: slices.Contains(ways, "back")}
	if name := f.text("payment.payer"); name != "" {
		var known bool
		if p.Payer, known = of.Named(name); !known {
			f.wrong("payment.payer", "Choose who pays.")
		}
	}
	if amount := f.money("payment.amount", of.Currency); amount != nil {
		p.Minor = *amount
	}
	return f.with(within("payment", bill.Pay(ctx, tx, by, visit, p)))
}

func takePaymentBack(ctx context.Context, tx pgx.Tx, by history.By, visit int64, f *form) error {
	payment := f.number("unpaid.payment")
	if err := f.err(); err != nil {
		return err
	}
	return within("unpaid", bill.TakeBackPayment(ctx, tx, by, visit, payment, f.text("unpaid.reason")))
}

// printBill is the bill of one payer on paper.
func (a *App) printBill(w http.ResponseWriter, r *http.Request) error {
	id, err := a.id(r, "id")
	if err != nil {
		return err
	}
	page := templates.BillPage{}
	if page.Base, err = a.base(r, "Bill of visit "+strconv.FormatInt(id, 10)); err != nil {
		return err
	}
	err = db.Read(r.Context(), a.pool, func(tx pgx.Tx) (err error) {
		if page.Visit, err = job.Visit(r.Context(), tx, id); err != nil {
			return err
		}
		if page.Bill, err = bill.Get(r.Context(), tx, id); err != nil {
			return err
		}
		var pays bool
		if page.Payer, pays = page.Bill.Named(cmp.Or(plain(r.URL.Query().Get("payer")), bill.ByCustomer)); !pays {
			return fault.NotFound("Nobody of that name pays anything of this visit.")
		}
		page.Desk, err = shop.Get(r.Context(), tx)
		return err
	})
	if err != nil {
		return err
	}
	return render(w, r, http.StatusOK, templates.Bill(page))
}
