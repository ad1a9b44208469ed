package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// priced is a counter with a price of 60.00 and 20 % tax on it for the
// lower-leg service, and a visit that wants it.
func priced(t *testing.T) (c counter, j job.Job, at string) {
	t.Helper()
	c = server(t).counter()
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		if err := bill.SetTaxRate(ctx, tx, by(), bill.TaxRate{Name: "full rate", BP: 2000}); err != nil {
			return err
		}
		minor := int64(6000)
		return bill.SetPrices(ctx, tx, by(), []bill.Price{{ServiceCode: "lower-leg", Minor: &minor, Currency: "GBP", TaxCode: "A"}})
	}, owner)
	j = c.takeIn("Tindra Lode", tomorrow)
	return c, j, visitPath(j.VisitID)
}

// wipers are the fields of a line of 2 × 11.00 less 2.00, which is 24.00 with tax.
func wipers(j job.Job, change ...string) []string {
	fields := []string{"line.for", fmt.Sprint(j.ID), "line.kind", "part", "line.words", "Wipers", "line.quantity", "2", "line.price", "11",
		"line.tax", "A", "line.payer", "customer", "line.payerwords", "", "line.discount", "2.00", "line.discountreason", "club"}
	for i := 0; i < len(change); i += 2 {
		for k := 0; k < len(fields); k += 2 {
			if fields[k] == change[i] {
				fields[k+1] = change[i+1]
			}
		}
	}
	return fields
}

func TestTheDeskWritesABillAndTakesThePayment(t *testing.T) {
	c, j, at := priced(t)
	b := c.as(desk)
	p := b.get(at).want(http.StatusOK).wantWords("#bill + *", "Nothing is on the bill").wantWords("main", "Lower-leg service, £60.00")
	b.post(at+"/bill/listed", "intent", p.intent(at+"/bill/listed")).wantTo(at + "?done=listed")
	b.post(at+"/bill/line", wipers(j)...).wantTo(at + "?done=line")
	p = b.get(at+"?done=line").want(http.StatusOK).wantWords(".told", "The line is on the bill.")
	p.wantWords("table.bill", "£60.00").wantWords("table.bill", "part, 2 × £11.00, less £2.00 (club), tax A").wantWords("table.bill", "of £80.00")
	if owed := p.words("table.bill .total:last-child td"); owed != "£96.00" {
		t.Errorf("owed are %q", owed)
	}
	if amount := p.value("payment.amount"); amount != "96.00" {
		t.Errorf("the amount to pay is %q", amount)
	}
	if p.Find(".main").Length() != 1 || p.words(".main") != "Take the payment" {
		t.Errorf("the filled buttons say %q", p.words(".main"))
	}
	intent := p.intent(at + "/bill/payment")
	for range 2 {
		b.post(at+"/bill/payment", "intent", intent, "payment.amount", "96", "payment.kind", "cash").wantTo(at + "?done=payment")
	}
	p = b.get(at).wantWords(".owed", "all paid").wantWords("table.bill", "Paid in cash")
	if n := p.Find(`select[name="unpaid.payment"] option`).Length(); n != 1 {
		t.Errorf("two presses made %d payments", n)
	}
	line := p.Find(`select[name="back.line"] option`).Last().AttrOr("value", "")
	b.post(at+"/bill/line-back", "back.line", line, "back.reason", "").want(http.StatusUnprocessableEntity)
	b.post(at+"/bill/line-back", "back.line", line, "back.reason", "none were fitted").wantTo(at + "?done=line-back")
	p = b.get(at).wantWords(".owed", "£24.00 paid ahead").wantWords("main", "“none were fitted”")
	b.post(at+"/bill/payment", "payment.amount", "24", "payment.kind", "cash", "payment.way", "back").wantTo(at + "?done=payment")
	b.get(at).wantWords(".owed", "all paid").wantWords("table.bill", "Given back in cash")
	payment := p.Find(`select[name="unpaid.payment"] option`).First().AttrOr("value", "")
	b.post(at+"/bill/payment-back", "unpaid.payment", payment, "unpaid.reason", "twice").wantTo(at + "?done=payment-back")
	b.get(at).wantWords(".owed", "£96.00 owed")
}

func TestWhatABillRefusesIsKeptAndSaidBesideItsField(t *testing.T) {
	c, j, at := priced(t)
	b := c.as(desk)
	for _, bad := range []struct{ form, field, typed, says string }{
		{"line", "line.price", "1,234", "could mean"},
		{"line", "line.quantity", "some", "not a quantity"},
		{"line", "line.words", "", "Say what it is for"},
		{"line", "line.discount", "22.01", "no more than the line"},
		{"line", "line.discountreason", "", "taken off for"},
		{"line", "line.for", "", "Choose what"},
		{"line", "line.for", fmt.Sprint(j.ID + 1), "not one of this visit"},
	} {
		p := b.post(at+"/bill/"+bad.form, wipers(j, bad.field, bad.typed)...).want(http.StatusUnprocessableEntity)
		if got := p.wrong(bad.field); !strings.Contains(got, bad.says) {
			t.Errorf("%s %q: beside it stands %q, want %q", bad.field, bad.typed, got, bad.says)
		}
		if p.Find("#add-line[open]").Length() != 1 || bad.field != "line.words" && p.value("line.words") != "Wipers" {
			t.Errorf("%s %q: the form is closed, or what was typed is lost", bad.field, bad.typed)
		}
	}
	b.post(at+"/bill/line", wipers(j, "line.payer", bill.ByOther)...).want(http.StatusUnprocessableEntity)
	p := b.post(at+"/bill/line", wipers(j, "line.price", "five", "line.words", "", "line.discount", "1")...).want(http.StatusUnprocessableEntity)
	if p.wrong("line.price") == "" || p.wrong("line.words") == "" || p.wrong("line.discount") != "" {
		t.Errorf("of two faults at once: %q, %q; of what follows from them: %q", p.wrong("line.price"), p.wrong("line.words"), p.wrong("line.discount"))
	}
	p = b.post(at+"/bill/payment", "payment.amount", "650", "payment.kind", "card", "payment.words", "her brother").want(http.StatusUnprocessableEntity)
	if got := p.wrong("payment.amount"); !strings.Contains(got, "more than is owed, £0.00") || p.value("payment.words") != "her brother" {
		t.Errorf("too much: %q beside it, note %q", got, p.value("payment.words"))
	}
	b.post(at+"/bill/payment", "payment.amount", "20", "payment.kind", "card", "payment.way", "ahead").want(http.StatusSeeOther)
	b.get(at).wantWords(".owed", "£20.00 paid ahead")
	b.post("/visits/999999/bill/line", wipers(j)...).want(http.StatusNotFound)
}

func TestWhoeverElsePaysGetsABillOfTheirOwn(t *testing.T) {
	c, j, at := priced(t)
	b := c.as(desk)
	b.post(at + "/bill/listed").want(http.StatusSeeOther)
	b.post(at+"/bill/line", wipers(j, "line.payer", bill.ByWarranty, "line.payerwords", "claim 2041")...).want(http.StatusSeeOther)
	b.get(at).wantWords("table.bill", "under warranty, claim 2041: £20.00").wantWords("table.bill", "£0.00").wantWords(".owed", "£72.00 owed")
	own := b.get(at+"/bill").want(http.StatusOK).wantWords(".letter", "For Odette Marsh").wantWords(".letter", fmt.Sprint("ticket ", j.Number))
	own.wantWords(".letter", "under warranty").wantWords(".letter .sums .total", "Total£72.00").wantWords(".letter .sums", "Owed£72.00")
	theirs := b.get(at+"/bill?payer=warranty%2C+claim+2041").want(http.StatusOK).wantWords(".letter", "For Warranty, claim 2041").wantWords(".letter .sums", "Total£24.00").wantWords(".letter .sums", "Owed£24.00")
	if strings.Contains(theirs.words(".letter"), "Lower-leg") {
		t.Errorf("the bill of the warranty says %q", theirs.words(".letter"))
	}
	theirs.wantWords(".letter", "taken in 13 October 2026, brought by Odette Marsh")
	page404(b, at+"/bill?payer=nobody", "/visits/999999/bill")
}

func TestABillOnPaperKeepsItsDateAndSaysWhatIsPaidAhead(t *testing.T) {
	c, j, at := priced(t)
	b := c.as(desk)
	b.post(at + "/bill/listed").want(http.StatusSeeOther)
	c.pass(24 * time.Hour)
	b.post(at+"/bill/line", wipers(j)...).want(http.StatusSeeOther)
	c.pass(24 * time.Hour)
	b.post(at+"/bill/payment", "payment.amount", "100", "payment.kind", "card", "payment.way", "ahead").want(http.StatusSeeOther)
	p := b.get(at+"/bill").want(http.StatusOK).wantWords(".letter header", "14 October 2026").wantWords(".letter .sums .total:last-child", "Paid ahead£4.00")
	p.wantWords(".letter .sums", "Deposit, paid by card on 15 October 2026")
	b.get(at).wantWords("table.bill .total:last-child", "Paid ahead£4.00")
}

func TestALineHoldsItsTaxAsItsFormSaid(t *testing.T) {
	c, j, at := priced(t)
	b, o := c.as(desk), c.as(owner)
	before := b.get(at)
	o.post("/services/inside", "version", o.get("/services").value("version"), "inside", "yes").want(http.StatusSeeOther)
	if before.value("line.inside") != "" || b.get(at).value("line.inside") != "yes" {
		t.Error("the form does not carry whether its price holds the tax")
	}
	b.post(at+"/bill/line", wipers(j)...).want(http.StatusSeeOther)
	b.get(at).wantWords("table.bill .total", "£24.00")
	b.post(at+"/bill/line", append(wipers(j), "line.inside", "yes")...).want(http.StatusSeeOther)
	b.get(at).wantWords("table.bill .total", "£44.00").wantWords("table.bill", "of £36.67")
}

func TestMechanicsReadBillsAndWriteNone(t *testing.T) {
	c, j, at := priced(t)
	m := c.as(mechanic)
	if n := m.get(at).want(http.StatusOK).Find(`form[action*="/bill/"]`).Length(); n != 0 {
		t.Errorf("a mechanic is shown %d forms of the bill", n)
	}
	m.post(at+"/bill/line", wipers(j)...).want(http.StatusForbidden)
}

func TestGoingOverTheSpendingLimitIsSaid(t *testing.T) {
	c, j, at := priced(t)
	if _, err := c.pool.Exec(context.Background(), "update visit set limit_minor = 7000"); err != nil {
		t.Fatal(err)
	}
	b := c.as(desk)
	b.post(at+"/bill/line", wipers(j)...).want(http.StatusSeeOther)
	if text := b.get(at).words("main"); strings.Contains(text, "over the limit") {
		t.Errorf("£24.00 of £70.00 is called over the limit: %s", text)
	}
	b.post(at + "/bill/listed").want(http.StatusSeeOther)
	b.get(at).wantWords("main", "£26.00 over the limit: ask for the customer’s go-ahead").wantWords("main", "up to £70.00 without asking; the bill comes to £96.00")
}

func TestTheCustomerReadsWhatIsOwedAndWhatWasPaid(t *testing.T) {
	c, j, at := priced(t)
	b := c.as(desk)
	b.post(at + "/link").want(http.StatusSeeOther)
	link := strings.TrimPrefix(b.get(at).Find("#content a[href*='/c/']").AttrOr("href", ""), c.url)
	read := func() string { return c.anybody().get(link).want(http.StatusOK).words("main") }
	if text := read(); strings.Contains(text, "To pay") {
		t.Errorf("without a bill the page says %q", text)
	}
	b.post(at + "/bill/listed").want(http.StatusSeeOther)
	b.post(at+"/bill/line", wipers(j, "line.payer", bill.ByUs)...).want(http.StatusSeeOther)
	b.post(at+"/bill/payment", "payment.amount", "20", "payment.kind", "card").want(http.StatusSeeOther)
	text := read()
	for _, want := range []string{"To pay£52.00. £20.00 of £72.00 is paid. So far: the work is not done yet.", "Wipers 2 × £11.00, less £2.00 (club), at our cost£0.00", "Tax£12.00", "In all£72.00"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page says %q, want %q", text, want)
		}
	}
	b.post(at+"/bill/payment", "payment.amount", "52", "payment.kind", "card").want(http.StatusSeeOther)
	if text := read(); !strings.Contains(text, "Nothing more. £72.00 is paid, thank you.") {
		t.Errorf("settled, the page says %q", text)
	}
}

// Money was given back, and what it was given back of turns out never to have
// come.
func TestTheCustomerReadsAllThatIsOwedWhenMoreWentBackThanCame(t *testing.T) {
	c, _, at := priced(t)
	b := c.as(desk)
	b.post(at + "/link").want(http.StatusSeeOther)
	link := strings.TrimPrefix(b.get(at).Find("#content a[href*='/c/']").AttrOr("href", ""), c.url)
	b.post(at+"/bill/payment", "payment.amount", "20", "payment.kind", "card", "payment.way", "ahead").want(http.StatusSeeOther)
	c.anybody().get(link).wantWords("main", "To pay£20.00 paid ahead.")
	b.post(at+"/bill/payment", "payment.amount", "20", "payment.kind", "cash", "payment.way", "back").want(http.StatusSeeOther)
	payment := b.get(at).Find(`select[name="unpaid.payment"] option`).First().AttrOr("value", "")
	b.post(at+"/bill/payment-back", "unpaid.payment", payment, "unpaid.reason", "another visit’s").want(http.StatusSeeOther)
	c.anybody().get(link).wantWords("main", "To pay£20.00. So far")
	b.post(at + "/bill/listed").want(http.StatusSeeOther)
	b.get(at).wantWords(".owed", "£92.00 owed")
	c.anybody().get(link).wantWords("main", "To pay£92.00. So far")
}
