package bill

import (
	"errors"
	"slices"
	"testing"

	"damperdesk/internal/fault"
)

// Source: decimal arithmetic by hand.
func TestADiscountAndASurchargeMayBeSaidInPerCent(t *testing.T) {
	c := opened(t)
	c.must(TakeListed(ctx, c.tx, c.by(c.desk), c.visit, false)) // 90.00
	l := wipers
	l.DiscountMinor, l.DiscountBP = 0, 1250 // 12.5 % of 22.00
	c.add(l)
	c.add(NewLine{JobID: c.jobs[0].ID, Kind: KindSurcharge, Words: "Express", QtyMilli: 1000, ShareBP: 2500, TaxCode: "A"})
	b := c.bill()
	if got := b.Lines[1]; got.DiscountMinor != 275 || got.DiscountBP != 1250 || got.AmountMinor() != 1925 {
		t.Errorf("12.5 %% off 22.00 leaves %+v", got)
	}
	if got := b.Lines[2]; got.UnitMinor != 2250 || got.ShareBP != 2500 {
		t.Errorf("25 %% of services of 90.00 is %+v", got)
	}
	part := NewLine{Kind: "part", Words: "Express", QtyMilli: 1000, ShareBP: 2500, TaxCode: "A"}
	if got := refusedFor(AddLine(ctx, c.tx, c.by(c.desk), c.visit, part)); got != "price" {
		t.Errorf("a part priced in per cent is refused for %q", got)
	}
	c.must(TakeBack(ctx, c.tx, c.by(c.desk), c.visit, b.Lines[2].ID, "there was time"))
	c.must(c.pay(NewPayment{Kind: "card", Minor: 100}))
	c.sound()
}

func TestTaxIsRoundedAsTheShopHasSettled(t *testing.T) {
	c := opened(t)
	c.exec("insert into shop (name, address, phone, mail, zone, currency, hemisphere, torque_unit, volume_unit, pressure_unit, mass_unit, tax_by_line) " +
		"values ('Weir Lane', '', '', '', 'Europe/London', 'GBP', 'north', 'N·m', 'mL', 'psi', 'kg', true)")
	for range 4 {
		c.add(NewLine{Kind: "part", Words: "Washers", QtyMilli: 1000, UnitMinor: 99, TaxCode: "A"})
	}
	c.add(wipers)
	c.must(TakeBack(ctx, c.tx, c.by(c.desk), c.visit, c.bill().Lines[0].ID, "three were enough"))
	c.must(c.pay(NewPayment{Kind: "card", Minor: 100}))
	if got := c.bill().Balance().BilledMinor; got != 3*(99+20)+2400 {
		t.Errorf("three lines of 0.99 with 0.20 tax each, and 24.00, come to %d", got)
	}
	c.sound()
}

func TestEachPayerPaysTheirOwn(t *testing.T) {
	c := opened(t)
	c.add(wipers)
	claim := wipers
	claim.Payer, claim.PayerWords, claim.DiscountMinor, claim.DiscountReason = ByWarranty, "claim 2041", 0, ""
	c.add(claim)
	theirs := Payer{ByWarranty, "claim 2041"}
	c.must(c.pay(NewPayment{Payer: theirs, Kind: "bank transfer", Minor: 2640}))
	b := c.bill()
	if b.Balance().OwedMinor() != 2400 || b.BalanceOf(theirs).OwedMinor() != 0 || b.Payments[0].OwedMinor != 2640 {
		t.Errorf("owed are %d and %d after %+v", b.Balance().OwedMinor(), b.BalanceOf(theirs).OwedMinor(), b.Payments)
	}
	if got := refusedFor(c.pay(NewPayment{Payer: Payer{Kind: ByUs}, Kind: "card", Minor: 1})); got == "" {
		t.Error("the shop pays itself")
	}
	if got := refusedFor(c.pay(NewPayment{Payer: Payer{Kind: ByOther}, Kind: "card", Minor: 1})); got != "amount" {
		t.Errorf("one who owes nothing is refused for %q", got)
	}
	c.must(c.pay(NewPayment{Kind: "card", Minor: 1000}))
	c.must(TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[0].ID, "bounced"))
	if got := c.bill().BalanceOf(theirs).OwedMinor(); got != 2640 {
		t.Errorf("after the transfer was taken back %d is owed", got)
	}
	c.sound()
}

// Source: decimal arithmetic by hand, 22.00 and 11.00 with a fifth of tax.
func TestEachClaimAndEachTeamHasABalanceOfItsOwn(t *testing.T) {
	c := opened(t)
	for _, l := range []NewLine{
		{Payer: ByWarranty, PayerWords: " claim 2041 ", QtyMilli: 2000}, {Payer: ByWarranty, PayerWords: "claim 2042", QtyMilli: 1000},
		{Payer: ByOther, PayerWords: "Weir Lane", QtyMilli: 1000}, {Payer: ByUs, PayerWords: "goodwill", QtyMilli: 1000},
	} {
		l.Kind, l.Words, l.UnitMinor, l.TaxCode = "part", "Wipers", 1100, "A"
		c.add(l)
	}
	var names []string
	for _, p := range c.bill().Payers() {
		names = append(names, p.String())
	}
	if want := []string{"customer", "us", "warranty, claim 2041", "warranty, claim 2042", "team or other shop, Weir Lane"}; !slices.Equal(names, want) {
		t.Errorf("the payers are %q, want %q", names, want)
	}
	first, second := Payer{ByWarranty, "claim 2041"}, Payer{ByWarranty, "claim 2042"}
	if got := refusedFor(c.pay(NewPayment{Payer: second, Kind: "bank transfer", Minor: 2640})); got != "amount" {
		t.Errorf("what the first claim owes, paid by the second, is refused for %q", got)
	}
	c.must(c.pay(NewPayment{Payer: second, Kind: "bank transfer", Minor: 1320}))
	b := c.bill()
	if b.BalanceOf(first).OwedMinor() != 2640 || b.BalanceOf(second).OwedMinor() != 0 || b.Payments[0].OwedMinor != 1320 || b.Balance().BilledMinor != 0 {
		t.Errorf("owed are %d by the first claim and %d by the second after %+v", b.BalanceOf(first).OwedMinor(), b.BalanceOf(second).OwedMinor(), b.Payments)
	}
	c.must(TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[0].ID, "bounced"))
	if got := c.bill().BalanceOf(second).OwedMinor(); got != 1320 {
		t.Errorf("after it was taken back the second claim owes %d", got)
	}
	c.sound()
}

// Source of the step: TestTheSmallestCoinFollowsCLDR; of the sums, decimal
// arithmetic by hand.
func TestCashIsRoundedToTheSmallestCoinAndTheRestIsAnEntryOfItsOwn(t *testing.T) {
	c := opened(t)
	c.exec("update visit set currency = 'CHF'")
	c.add(NewLine{Kind: "part", Words: "Wipers", QtyMilli: 1000, UnitMinor: 1233, TaxCode: "B"})
	if got := refusedFor(c.pay(NewPayment{Kind: "cash", Minor: 501})); got != "amount" {
		t.Errorf("5.01 in coins is refused for %q", got)
	}
	c.must(c.pay(NewPayment{Kind: "cash", Minor: 1233}))
	b := c.bill()
	if len(b.Payments) != 2 || b.Payments[0].MinorPaid != 1235 || b.Payments[1].MinorPaid != -2 || b.Payments[1].Kind != CashRounding || !b.Balance().Settled() {
		t.Fatalf("12.33 in coins is kept as %+v, settled: %v", b.Payments, b.Balance().Settled())
	}
	if got := refusedFor(TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[1].ID, "no")); got != "payment" {
		t.Errorf("the rest taken back by itself is refused for %q", got)
	}
	c.must(TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[0].ID, "it was by card"))
	if b = c.bill(); b.Balance().OwedMinor() != 1233 || len(b.Payments) != 4 {
		t.Errorf("taken back, %d is owed after %+v", b.Balance().OwedMinor(), b.Payments)
	}
	if err := TakeBackPayment(ctx, c.tx, c.by(c.desk), c.visit, b.Payments[0].ID, "again"); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("twice: %v", err)
	}
	c.must(c.pay(NewPayment{Kind: "card", Minor: 1233}))
	c.must(TakeBack(ctx, c.tx, c.by(c.desk), c.visit, b.Lines[0].ID, "not fitted"))
	c.must(c.pay(NewPayment{Kind: "cash", Minor: 1235, Back: true}))
	if b = c.bill(); b.Balance().OwedMinor() != 0 {
		t.Errorf("given back in coins, %d is owed", b.Balance().OwedMinor())
	}
	c.sound()
}
