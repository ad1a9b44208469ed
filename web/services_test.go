package web

import (
	"net/http"
	"strings"
	"testing"
)

func TestAnOwnerSetsPricesAndTaxes(t *testing.T) {
	c := server(t).counter()
	b := c.as(owner)
	b.get("/services").want(http.StatusOK).wantWords(".nothing", "Say first which taxes")
	p := b.post("/services/tax", "name", "", "rate", "many").want(http.StatusUnprocessableEntity)
	if p.wrong("name") == "" || !strings.Contains(p.wrong("rate"), "not a rate") || p.value("rate") != "many" {
		t.Errorf("a tax without a name, of many per cent: %s", p.words("[role=alert]"))
	}
	b.post("/services/tax", "name", "full rate", "rate", "17.5").wantTo("/services?done=tax")
	b.post("/services/tax/A", "name", "full rate", "rate", "20 %", "version", "1").wantTo("/services?done=tax")
	b.post("/services/tax/A", "name", "full rate", "rate", "21", "version", "1").want(http.StatusConflict).wantWords("[role=alert]", "Somebody else changed this")
	b.get("/services/tax/A").want(http.StatusOK).wantWords("h1", "Tax A")
	page404(b, "/services/tax/Q", "/services/tax/x")
	b.post("/services/tax/Q", "name", "new", "rate", "1").want(http.StatusNotFound)

	p = b.get("/services").want(http.StatusOK)
	list := func(intent string, fields ...string) *page {
		return b.post("/services", append(fields, "intent", intent, "version.lower-leg", "0", "version.air-spring", "0", "tax.lower-leg", "A", "tax.air-spring", "A")...)
	}
	p = list(p.intent("/services"), "price.lower-leg", "lots", "price.air-spring", "95").want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("price.lower-leg"), "not an amount") || p.value("price.air-spring") != "95" || p.value("price.lower-leg") != "lots" {
		t.Errorf("lots: %s; the other price is %q", p.words("[role=alert]"), p.value("price.air-spring"))
	}
	intent := p.intent("/services")
	for range 2 {
		list(intent, "price.lower-leg", "65", "price.air-spring", "").wantTo("/services?done=prices")
	}
	p = b.get("/services").want(http.StatusOK)
	if p.value("price.lower-leg") != "65.00" || p.value("version.lower-leg") != "1" || p.value("version.air-spring") != "0" {
		t.Errorf("lower-leg costs %q at version %q, air-spring is at version %q", p.value("price.lower-leg"), p.value("version.lower-leg"), p.value("version.air-spring"))
	}
	b.post("/services", "version.lower-leg", "0", "price.lower-leg", "70", "tax.lower-leg", "A").want(http.StatusConflict)
	b.post("/services", "version.lower-leg", "1", "price.lower-leg", "70", "tax.lower-leg", "Q").want(http.StatusUnprocessableEntity)
	b.get("/shop").wantWords("main", "1 of 11 services have a price")
}

func TestAnOwnerSaysHowPricesAreTyped(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	version := b.get("/services").want(http.StatusOK).value("version")
	b.post("/services/inside", "version", version, "inside", "perhaps").want(http.StatusUnprocessableEntity)
	b.post("/services/inside", "version", version, "inside", "yes").wantTo("/services?done=inside")
	if got := b.get("/services").Find("[name=inside][checked]").AttrOr("value", ""); got != "yes" {
		t.Errorf("prices are with tax: %q", got)
	}
	b.post("/services/inside", "version", version, "inside", "no").want(http.StatusConflict)
	s.as(desk).get("/services").want(http.StatusForbidden)
}

func TestAnOwnerChargesByBookTimeAndByModel(t *testing.T) {
	srv := server(t)
	c := srv.counter()
	b := c.as(owner)
	b.post("/services/tax", "name", "full rate", "rate", "20").wantTo("/services?done=tax")
	byTime := []string{"version.lower-leg", "0", "charged.lower-leg", "time", "tax.lower-leg", "A", "hourversion", "0"}
	p := b.post("/services", append(byTime, "hour", "")...).want(http.StatusUnprocessableEntity)
	if p.wrong("price.lower-leg") != "Say first what an hour costs." {
		t.Errorf("without a rate: %q", p.wrong("price.lower-leg"))
	}
	p = b.post("/services", append(byTime, "hour", "sixty")...).want(http.StatusUnprocessableEntity)
	if p.wrong("hour") == "" || p.value("hour") != "sixty" {
		t.Errorf("a rate in words: %q, %q", p.wrong("hour"), p.value("hour"))
	}
	b.post("/services", append(byTime, "hour", "60")...).wantTo("/services?done=prices")
	b.get("/services").want(http.StatusOK).wantWords(".prices", "50 min at £60.00 an hour: £50.00")

	p = b.post("/services/model", "service", "lower-leg", "model", "0", "price", "lots").want(http.StatusUnprocessableEntity)
	if p.wrong("model") == "" || p.wrong("price") == "" || p.value("price") != "lots" {
		t.Errorf("no model, no price: %s", p.words("[role=alert]"))
	}
}
