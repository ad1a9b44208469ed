package bill

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/check"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

// counter is what a test starts from: a price list and a visit with two jobs.
type counter struct {
	t     *testing.T
	tx    pgx.Tx
	desk  history.By
	owner history.By
	visit int64
	jobs  []job.Job
}

func minor(n int64) *int64 { return &n }

// opened has a service of 60.00, one of 90.00 that covers it, and one without a
// price, under a tax of 20 %; the first job wants the two that are priced, the
// second the third.
func opened(t *testing.T) counter {
	t.Helper()
	return openedIn(t, dbtest.Tx(t))
}

func openedIn(t *testing.T, tx pgx.Tx) counter {
	t.Helper()
	c := counter{t: t, tx: tx, desk: dbtest.By(t, tx, "desk"), owner: dbtest.By(t, tx, "owner")}
	c.exec(`insert into service (code, name, kinds, blocks, covers, seq) values ('lower', 'Lower-leg service', '{fork}', '{A}', '{}', 1),
		('air', 'Air-spring service', '{fork}', '{P}', '{lower}', 2), ('own', 'Other work', '{fork}', '{F}', '{}', 3)`)
	c.must(SetTaxRate(ctx, tx, c.by(c.owner), TaxRate{Name: "full rate", BP: 2000}))
	c.must(SetTaxRate(ctx, tx, c.by(c.owner), TaxRate{Name: "no tax"}))
	c.must(SetPrices(ctx, tx, c.by(c.owner), []Price{
		{ServiceCode: "lower", Minor: minor(6000), Currency: "GBP", TaxCode: "A"}, {ServiceCode: "air", Minor: minor(9000), Currency: "GBP", TaxCode: "A"}}))
	who, err := customer.Add(ctx, tx, c.desk, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
	c.must(err)
	unit := func(services ...string) job.DropOffUnit {
		return job.DropOffUnit{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "Tindra Lode"}, Services: services, Symptoms: []string{job.JustDue}}
	}
	c.visit, err = job.TakeIn(ctx, tx, c.desk, job.DropOff{CustomerID: who, PromisedAt: dbtest.Now.Add(24 * time.Hour), Currency: "GBP",
		LimitMinor: minor(10_000), Units: []job.DropOffUnit{unit("lower", "air"), unit("own")}})
	c.must(err)
	v, err := job.Visit(ctx, tx, c.visit)
	c.must(err)
	c.jobs = v.Jobs
	return c
}

func (c counter) must(err error) {
	c.t.Helper()
	if err != nil {
		c.t.Fatal(err)
	}
}

func (c counter) exec(sql string, args ...any) {
	c.t.Helper()
	_, err := c.tx.Exec(ctx, sql, args...)
	c.must(err)
}

// by is another act of the same person.
func (c counter) by(who history.By) history.By { return dbtest.Act(c.t, c.tx, who) }

func (c counter) bill() Bill {
	c.t.Helper()
	b, err := Get(ctx, c.tx, c.visit)
	c.must(err)
	return b
}

// wipers are a line by hand of 2 × 11.00 less 2.00.
var wipers = NewLine{Kind: "part", Words: "Wipers", QtyMilli: 2000, UnitMinor: 1100, TaxCode: "A", DiscountMinor: 200, DiscountReason: "club"}

func (c counter) add(l NewLine) {
	c.t.Helper()
	c.must(AddLine(ctx, c.tx, c.by(c.desk), c.visit, l))
}

func (c counter) pay(p NewPayment) error {
	return Pay(ctx, c.tx, c.by(c.desk), c.visit, p)
}

// sound fails the test unless the bills add up as check reckons them.
func (c counter) sound() {
	c.t.Helper()
	found, err := check.Run(ctx, c.tx)
	c.must(err)
	for _, f := range found {
		if strings.HasPrefix(f.Name, "bills") || strings.HasPrefix(f.Name, "every act") {
			c.t.Errorf("broken: %s: %v", f.Name, f.Offenders)
		}
	}
}

// refusedFor is the fields that a refusal is about, or the refusal's text.
func refusedFor(err error) string {
	var invalid *fault.Invalid
	if !errors.As(err, &invalid) {
		if err == nil {
			return ""
		}
		return err.Error()
	}
	var names []string
	for name := range invalid.Fields {
		names = append(names, name)
	}
	return strings.Join(names, " ")
}

func TestListedPricesAreTakenOnce(t *testing.T) {
	c := opened(t)
	offers, err := Offers(ctx, c.tx, c.visit)
	c.must(err)
	if len(offers) != 2 || offers[0].ServiceCode != "air" || *offers[0].Minor != 9000 || offers[1].ServiceCode != "own" || offers[1].Minor != nil {
		t.Fatalf("offered are %+v; want the service that covers the other, and the one without a price", offers)
	}
	c.must(TakeListed(ctx, c.tx, c.by(c.desk), c.visit, false))
	b := c.bill()
	if len(b.Lines) != 1 || b.Lines[0].Number != c.jobs[0].Number || b.Lines[0].Words != "Air-spring service" || b.Balance().BilledMinor != 10_800 {
		t.Errorf("the bill is %+v", b.Lines)
	}
	if over := b.OverLimit(); over != 800 {
		t.Errorf("%d over the limit, want 800", over)
	}
	if err := TakeListed(ctx, c.tx, c.by(c.desk), c.visit, false); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("taken twice: %v", err)
	}
	c.must(TakeBack(ctx, c.tx, c.by(c.desk), c.visit, b.Lines[0].ID, "wrong price"))
	if offers, err = Offers(ctx, c.tx, c.visit); err != nil || len(offers) != 2 {
		t.Errorf("after it was taken back %d services are offered, want 2: %v", len(offers), err)
	}
	c.add(NewLine{JobID: c.jobs[1].ID, ServiceCode: "own", Words: "Straightened", QtyMilli: 1000, UnitMinor: 2500, TaxCode: "B"})
	err = AddLine(ctx, c.tx, c.by(c.desk), c.visit, NewLine{JobID: c.jobs[1].ID, ServiceCode: "own", Words: "Again", QtyMilli: 1000, TaxCode: "B"})
	if !errors.As(err, new(fault.Conflict)) {
		t.Errorf("billed twice by hand: %v", err)
	}
	c.sound()
}

func TestAJobThatEndedOtherwiseKeepsItsLinesAndIsOfferedNothing(t *testing.T) {
	c := opened(t)
	c.must(TakeListed(ctx, c.tx, c.by(c.desk), c.visit, false))
	for _, j := range c.jobs {
		c.must(job.Cancel(ctx, c.tx, c.by(c.desk), j.ID, "no fault found", ""))
	}
	offers, err := Offers(ctx, c.tx, c.visit)
	if b := c.bill(); err != nil || len(offers) != 0 || len(b.Standing()) != 1 {
		t.Errorf("%d lines stand, %d services are offered, %v", len(b.Standing()), len(offers), err)
	}
}

func TestABillStaysUnderNewPricesAndRates(t *testing.T) {
	c := opened(t)
	c.must(TakeListed(ctx, c.tx, c.by(c.desk), c.visit, false))
	before := c.bill().Balance()
	c.must(SetTaxRate(ctx, c.tx, c.by(c.owner), TaxRate{Code: "A", Name: "full rate", BP: 2500, Version: 1}))
	c.must(SetPrices(ctx, c.tx, c.by(c.owner), []Price{{ServiceCode: "air", Minor: minor(9900), Currency: "GBP", TaxCode: "A", Version: 1}}))
	if after := c.bill().Balance(); after != before {
		t.Errorf("the bill was %+v and is %+v", before, after)
	}
	c.add(wipers)
	if got := Sum(c.bill().Lines, TheCustomer); len(got.Rates) != 2 || got.TaxMinor != 1800+500 {
		t.Errorf("an old line at 20 %% of 90.00 and a new one at 25 %% of 20.00 make a tax of %d in %+v", got.TaxMinor, got.Rates)
	}
}

func TestALineIsTakenBackByItsExactOpposite(t *testing.T) {
	c := opened(t)
	c.add(wipers)
	id := c.bill().Lines[0].ID
	if got := refusedFor(TakeBack(ctx, c.tx, c.by(c.desk), c.visit, id, " ")); got != "reason" {
		t.Errorf("without a reason it is refused for %q", got)
	}
	c.must(TakeBack(ctx, c.tx, c.by(c.desk), c.visit, id, "none fitted"))
	b := c.bill()
	if len(b.Lines) != 2 || len(b.Standing()) != 0 || b.Lines[1].AmountMinor() != -2000 || b.Balance().BilledMinor != 0 {
		t.Errorf("lines %+v", b.Lines)
	}
	if err := TakeBack(ctx, c.tx, c.by(c.desk), c.visit, id, "again"); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("taken back twice: %v", err)
	}
	if got := refusedFor(TakeBack(ctx, c.tx, c.by(c.desk), c.visit, b.Lines[1].ID, "no")); got != "line" {
		t.Errorf("an opposite taken back is refused for %q", got)
	}
	c.sound()
}

func TestWhatALineLacksIsSaidByField(t *testing.T) {
	c := opened(t)
	for fields, change := range map[string]func(*NewLine){
		"words":          func(l *NewLine) { l.Words = " " },
		"payer":          func(l *NewLine) { l.Payer = "the queen" },
		"payerwords":     func(l *NewLine) { l.Payer = ByOther },
		"kind":           func(l *NewLine) { l.Kind = "gift" },
		"quantity":       func(l *NewLine) { l.QtyMilli, l.DiscountMinor, l.DiscountReason = 0, 0, "" },
		"price":          func(l *NewLine) { l.UnitMinor = mostMinor + 1 },
		"discount":       func(l *NewLine) { l.DiscountMinor = 2201 },
		"discountreason": func(l *NewLine) { l.DiscountReason = "" },
		"tax":            func(l *NewLine) { l.TaxCode = "Q" },
		"price ":         func(l *NewLine) { l.ShareBP, l.UnitMinor = 1000, 0; l.Kind = KindSurcharge },
		"discount ":      func(l *NewLine) { l.DiscountBP = 10_001 },
	} {
		l := wipers
		change(&l)
		if got := refusedFor(AddLine(ctx, c.tx, c.by(c.desk), c.visit, l)); got != strings.TrimSpace(fields) {
			t.Errorf("%+v is refused for %q, want %q", l, got, fields)
		}
	}
	elsewhere := wipers
	elsewhere.JobID = c.jobs[1].ID + 1
	if got := refusedFor(AddLine(ctx, c.tx, c.by(c.desk), c.visit, elsewhere)); got != "for" {
		t.Errorf("a job of another visit is refused for %q", got)
	}
	if n := len(c.bill().Lines); n != 0 {
		t.Errorf("%d lines were kept of what was refused", n)
	}
}

func TestPaymentsSettleABill(t *testing.T) {
	c := opened(t)
	c.add(wipers) // 20.00 and 4.00 tax
	if got := refusedFor(c.pay(NewPayment{Kind: "card", Minor: 2401})); got != "amount" {
		t.Errorf("more than is owed is refused for %q", got)
	}
	c.must(c.pay(NewPayment{Kind: "card", Minor: 1000}))
	c.must(c.pay(NewPayment{Kind: "cash", Minor: 1400}))
	balances, err := Owed(ctx, c.tx, []int64{c.visit, c.visit + 1})
	if want := (Balance{"GBP", 1, 2400, 2400}); err != nil || balances[c.visit] != want || len(balances) != 1 {
		t.Errorf("%+v, %v; want %+v of the one visit there is", balances, err, want)
	}
	if got := refusedFor(c.pay(NewPayment{Kind: "cash", Minor: 2401, Back: true})); got != "amount" {
		t.Errorf("more back than was paid is refused for %q", got)
	}
	c.must(c.pay(NewPayment{Kind: "cash", Minor: 400, Back: true}))
	b := c.bill()
	if last := b.Payments[2]; last.MinorPaid != -400 || last.OwedMinor != 0 || b.Balance().OwedMinor() != 400 {
		t.Errorf("after 4.00 back: %+v, owed %d", last, b.Balance().OwedMinor())
	}
	c.must(TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[0].ID, "it was the other visit"))
	if owed := c.bill().Balance().OwedMinor(); owed != 1400 {
		t.Errorf("after a payment of 10.00 was taken back %d is owed, want 1400", owed)
	}
	if err := TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[0].ID, "again"); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("taken back twice: %v", err)
	}
	if got := refusedFor(c.pay(NewPayment{Kind: "card", Minor: 1, Ahead: true, Back: true})); got != "way" {
		t.Errorf("paid ahead and given back at once is refused for %q", got)
	}
	if got := refusedFor(TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[1].ID, " ")); got != "reason" {
		t.Errorf("a payment taken back without a reason is refused for %q", got)
	}
	opposite := c.bill().Payments[3].ID
	if got := refusedFor(TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, opposite, "no")); got != "payment" {
		t.Errorf("an opposite taken back is refused for %q", got)
	}
	c.must(c.pay(NewPayment{Kind: "card", Minor: 5000, Ahead: true}))
	c.sound()
}

// What was owed is reckoned in Go and again, in SQL, by check.
func TestCheckReckonsAsTheRulesDo(t *testing.T) {
	c := opened(t)
	for i, l := range []NewLine{wipers, {Kind: "fluid", Words: "Oil", QtyMilli: 15, UnitMinor: 1450, TaxCode: "A", TaxIncluded: true},
		{Kind: "part", Words: "Foams", QtyMilli: 3000, UnitMinor: 333, TaxCode: "A", TaxIncluded: true}, {Kind: "fee", Words: "Post", QtyMilli: 1000, UnitMinor: 799, TaxCode: "B"}} {
		c.add(l)
		c.must(c.pay(NewPayment{Kind: "cash", Minor: int64(100 + i)}))
	}
	c.sound()
}

func TestOnlyTheDeskWritesBillsAndOnlyAnOwnerPrices(t *testing.T) {
	c := opened(t)
	mechanic := dbtest.By(t, c.tx, "mechanic")
	for name, err := range map[string]error{
		"line":         AddLine(ctx, c.tx, mechanic, c.visit, wipers),
		"listed":       TakeListed(ctx, c.tx, mechanic, c.visit, false),
		"payment":      Pay(ctx, c.tx, mechanic, c.visit, NewPayment{Kind: "cash", Minor: 1}),
		"line back":    TakeBack(ctx, c.tx, mechanic, c.visit, 1, "wrong"),
		"payment back": TakeBackPayment(ctx, c.tx, mechanic, c.visit, 1, "wrong"),
		"price":        SetPrices(ctx, c.tx, c.desk, nil),
		"tax":          SetTaxRate(ctx, c.tx, c.desk, TaxRate{Name: "x"}),
	} {
		if !errors.As(err, new(fault.Forbidden)) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestPricesAreVersioned(t *testing.T) {
	c := opened(t)
	set := func(p Price) error {
		p.ServiceCode, p.Currency = "lower", "GBP"
		return SetPrices(ctx, c.tx, c.by(c.owner), []Price{p})
	}
	c.must(set(Price{Minor: minor(6000), TaxCode: "A", Version: 1})) // as it is
	c.must(set(Price{Minor: minor(6500), TaxCode: "A", Version: 1}))
	if err := set(Price{Minor: minor(7000), TaxCode: "A", Version: 1}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("over an older version: %v", err)
	}
	if got := refusedFor(set(Price{Minor: minor(7000), TaxCode: "Q", Version: 2})); got != "tax.lower" {
		t.Errorf("an unknown tax is refused for %q", got)
	}
	c.must(set(Price{Version: 2}))
	list, err := Prices(ctx, c.tx)
	c.must(err)
	if p := list[0]; p.ServiceCode != "lower" || p.Minor != nil || p.Version != 3 {
		t.Errorf("taken off the list: %+v", p)
	}
	if err := SetTaxRate(ctx, c.tx, c.by(c.owner), TaxRate{Code: "A", Name: "full rate", BP: 2100, Version: 7}); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("a tax over a version that is not there: %v", err)
	}
	if err := SetTaxRate(ctx, c.tx, c.by(c.owner), TaxRate{Code: "Q", Name: "new"}); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("a tax that is not there: %v", err)
	}
}
