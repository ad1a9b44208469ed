package web

import (
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/bill"
)

func TestABillTakesPerCentAndPaymentsOfEachPayer(t *testing.T) {
	c, j, at := priced(t)
	b := c.as(desk)
	b.post(at + "/bill/listed").want(http.StatusSeeOther)
	b.post(at+"/bill/line", wipers(j, "line.discount", "10 %")...).wantTo(at + "?done=line")
	b.post(at+"/bill/line", wipers(j, "line.kind", bill.KindSurcharge, "line.words", "Express", "line.quantity", "1", "line.price", "25%", "line.discount", "", "line.discountreason", "")...).wantTo(at + "?done=line")
	p := b.get(at).wantWords(".bill", "less 10 %, £2.20 (club)").wantWords(".bill", "£15.00, 25 % of the services")
	if p.Find(`[name="payment.payer"]`).Length() != 0 {
		t.Error("one payer is asked which")
	}
	refused := b.post(at+"/bill/line", wipers(j, "line.price", "25 %")...).want(http.StatusUnprocessableEntity)
	if got := refused.wrong("line.price"); !strings.Contains(got, "Only a surcharge") || refused.value("line.price") != "25 %" {
		t.Errorf("a part in per cent: %q beside it, %q kept", got, refused.value("line.price"))
	}
	b.post(at+"/bill/line", wipers(j, "line.payer", bill.ByWarranty, "line.payerwords", "claim 2041")...).want(http.StatusSeeOther)
	b.post(at+"/bill/payment", "payment.payer", "warranty, claim 2041", "payment.amount", "24", "payment.kind", "bank transfer").wantTo(at + "?done=payment")
	b.post(at+"/bill/payment", "payment.payer", "customer", "payment.amount", "20", "payment.kind", "cash", "payment.way", "ahead").wantTo(at + "?done=payment")
	b.get(at).wantWords("main", "Deposit, paid in cash").wantWords("main", "£24.00 all paid")
	b.get(at+"/bill?payer=warranty%2C+claim+2041").want(http.StatusOK).wantWords(".sums", "Paid by bank transfer").wantWords(".sums .total", "Owed£0.00")
}

func TestHowTaxIsRoundedIsSettledBeforeTheFirstBill(t *testing.T) {
	c, j, at := priced(t)
	b, o := c.as(desk), c.as(owner)
	version := o.get("/services").Find(`form[action="/services/round"] [name="version"]`).AttrOr("value", "")
	if got := o.post("/services/round", "version", version).want(http.StatusUnprocessableEntity); got.wrong("round") == "" {
		t.Error("nothing is said beside what was not chosen")
	}
	o.post("/services/round", "version", version, "round", "line").wantTo("/services?done=round")
	for range 4 { // 0.99 at 20 %, each
		b.post(at+"/bill/line", wipers(j, "line.quantity", "1", "line.price", "0.99", "line.discount", "", "line.discountreason", "")...).want(http.StatusSeeOther)
	}
	b.get(at).wantWords(".bill", "£0.80")
	if p := o.get("/services").wantWords("#content", "Bills are written, so that stays"); p.Find(`form[action="/services/round"]`).Length() != 0 {
		t.Error("it can still be settled otherwise")
	}
	o.post("/services/round", "version", "2", "round", "bill").want(http.StatusConflict)
}
