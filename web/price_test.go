package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// pricedDesk is a promising desk with a price list of invented prices, a fifth
// of tax on top.
func pricedDesk(t *testing.T) frontDesk {
	t.Helper()
	c := promisingDesk(t)
	c.write(func(tx pgx.Tx, by history.By) error {
		ctx := context.Background()
		if err := bill.SetTaxRate(ctx, tx, by, bill.TaxRate{Name: "full rate", BP: 2000}); err != nil {
			return err
		}
		var list []bill.Price
		for code, minor := range map[string]int64{"lower-leg": 6000, "air-spring": 9000, "full": 18_000, "strip": 3000} {
			list = append(list, bill.Price{ServiceCode: code, Minor: &minor, Currency: "GBP", TaxCode: "A"})
		}
		return bill.SetPrices(ctx, tx, by, list)
	})
	return c
}

// Source: decimal arithmetic by hand, a fifth on top.
func TestTheDropOffSaysWhatItComesTo(t *testing.T) {
	c := pricedDesk(t)
	c.get("/drop-off").want(200).wantWords("#promise", "Once the services are chosen, it says here what they come to.")
	says := func(fields ...string) *page {
		t.Helper()
		return c.get("/drop-off/promise?" + values(fields...)).want(200)
	}
	p := says("units", "1", "unit0.services", "lower-leg", "unit0.services", "air-spring", "limit", "100")
	p.wantWords(".bill tfoot", "Tax£18.00").wantWords(".bill .total", "In all£108.00").wantWords("body", "£8.00 above the spending limit")
	if words := p.words(".bill tbody"); !strings.Contains(words, "Air-spring service") || strings.Contains(words, "Lower-leg") {
		t.Errorf("of two services of which one covers the other stand %q", words)
	}
	if words := says("units", "1", "unit0.services", "lower-leg", "limit", "72").words("body"); strings.Contains(words, "above the spending limit") {
		t.Error("what the limit just allows is above it")
	}
	p = says("units", "2", "unit0.services", "lower-leg", "unit1.services", "full", "unit1.payer", "warranty", "unit1.payerwords", "W-17", "limit", "100")
	p.wantWords(".bill .total", "For the customer£72.00").wantWords(".bill tfoot", "Under warranty, W-17, with tax£216.00").wantWords(".bill tbody", "unit 2")
	says("units", "1", "unit0.services", "other").wantWords("body", "Other work, in own words has no listed price")
	says("units", "1", "unit0.services", "strip").wantWords(".bill tbody", "not charged beside work that follows from it")

	c.post("/drop-off", c.fields("press", "promise")...).want(200).wantWords("#promise .bill .total", "In all£72.00")
	visit := c.post("/drop-off", c.fields()...).want(303).to
	c.get(visit).want(200).wantWords("main", "£72.00 with tax. It now comes to £72.00, as told.")
}

// only is the one open job.
func (c frontDesk) only() job.Job {
	c.t.Helper()
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 {
		c.t.Fatalf("%d jobs are open, %v", len(rows), err)
	}
	j, err := job.Get(context.Background(), c.pool, rows[0].ID)
	if err != nil {
		c.t.Fatal(err)
	}
	return j
}

// begun has work on a job started.
func (c frontDesk) begun(j job.Job) {
	c.t.Helper()
	counter{site: c.site}.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		if err := job.Move(ctx, tx, by(), j.ID, job.InQueue, ""); err != nil {
			return err
		}
		return bench.Start(ctx, tx, by(), j.ID)
	}, mechanic, desk)
}

// found records something that needs doing, and gives it back.
func (c frontDesk) found(j job.Job, words string) (id int64) {
	c.t.Helper()
	counter{site: c.site}.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) (err error) {
		f := bench.Found{Grade: bench.FoundDue, Cause: bench.FoundSo, Words: words}
		if err := bench.AddFinding(ctx, tx, by(), j.ID, f); err != nil {
			return err
		}
		id, err = bench.FoundID(ctx, tx, j.ID, nil, f)
		return err
	}, mechanic)
	return id
}

func (c frontDesk) says(j job.Job, yes string) {
	c.t.Helper()
	list, err := goahead.OfVisit(context.Background(), c.pool, j.VisitID)
	if err != nil || len(list) == 0 {
		c.t.Fatalf("%d proposals, %v", len(list), err)
	}
	p := list[len(list)-1]
	c.post("/jobs/"+c.id(j.ID)+"/answer", "proposed", c.id(p.ID), "over", c.id(p.AnswerID), "said", yes, "how", "by phone", "who", "Odette").want(303)
}

// Source: hours counted by hand. An hour's work, a quarter for which it stands and
// four hours more, from the usual day of an answer on: Wednesday 14:12 to Thursday
// 11:27, and two days of eight hours after it.
func TestAProposalSaysWhatItDoesToThePromise(t *testing.T) {
	c := pricedDesk(t)
	visit := c.post("/drop-off", c.fields("unit0.services", "other")...).want(303).to
	j := c.only()
	c.begun(j)
	at, finding := "/jobs/"+c.id(j.ID), c.found(j, "wipers torn")
	form := []string{"over", "0", "proposal", "new wipers", "price", "26", "takes", "240"}
	p := c.post(at+"/propose", append(form, "reckon", c.id(finding))...).want(200)
	p.wantWords(`#found [role="status"]`, "With 240 min more ready by Sat 17 Oct, 17:00 instead of Thu 15 Oct, 17:00. Expected Thu 15 Oct, 11:27")
	if p.value("readyon") != "2026-10-17" || p.value("proposal") != "new wipers" {
		t.Errorf("the day is %q and the words %q", p.value("readyon"), p.value("proposal"))
	}
	c.post(at+"/propose", append(form, "reckon", c.id(finding), "takes", "soon")...).want(http.StatusOK)
	refused := c.post(at+"/propose", "over", "0", "takes", "soon", "reckon", c.id(finding)).want(http.StatusUnprocessableEntity)
	if refused.wrong("takes") == "" || refused.value("takes") != "soon" {
		t.Errorf("what is no number: %q beside it, %q kept", refused.wrong("takes"), refused.value("takes"))
	}
	for _, slip := range []string{"99999999", "-3"} {
		for _, press := range []string{"reckon", "finding"} {
			refused := c.post(at+"/propose", "over", "0", "proposal", "new wipers", "price", "26", "takes", slip, press, c.id(finding)).want(http.StatusUnprocessableEntity)
			if !strings.Contains(refused.wrong("takes"), "at most 6000") || refused.value("takes") != slip {
				t.Errorf("%s min, %s: %q beside it, %q kept", slip, press, refused.wrong("takes"), refused.value("takes"))
			}
		}
	}
	// Three minutes in place of four hours: the day that was worked out before goes.
	c.post(at+"/propose", "over", "0", "proposal", "new wipers", "price", "26", "takes", "3", "readyon", "2026-10-17", "worked", "2026-10-17", "finding", c.id(finding)).want(303)
	c.get(at).want(200).wantWords("#found", "ready with it 16 October instead of 15 October; 3 min more at the bench")
	c.says(j, "no")
	c.get(visit).want(200).wantWords(".head", "Promised Thu 15 Oct, 17:00")
	c.says(j, "yes")
	c.get(visit).want(200).wantWords(".head", "Promised Fri 16 Oct, 17:00")
	c.get(visit+"/promise").want(200).wantWords(".dots", "as proposed; expected then Wed 14 Oct, 15:30. Agreed: new wipers")
}

// Source: hours counted by hand. An hour's work, a quarter for which it stands,
// four hours that wait for an answer and eight more, from the usual day of an
// answer on: Wednesday 14:12 to Friday 11:27.
func TestADayIsSaidWithAllThatWaitsForTheSameWord(t *testing.T) {
	c := pricedDesk(t)
	c.post("/drop-off", c.fields("unit0.services", "other")...).want(303)
	j := c.only()
	c.begun(j)
	at := "/jobs/" + c.id(j.ID)
	first, second := c.found(j, "wipers torn"), c.found(j, "bushings worn")
	c.post(at+"/propose", "over", "0", "proposal", "new wipers", "price", "26", "takes", "240", "finding", c.id(first)).want(303)
	reckon := []string{"over", "0", "proposal", "new bushings", "price", "90", "takes", "480", "reckon", c.id(second)}
	c.post(at+"/propose", reckon...).want(200).
		wantWords(`#found [role="status"]`, "With 480 min more, and the 240 min that wait for an answer already, ready by").
		wantWords(`#found [role="status"]`, "Expected Fri 16 Oct, 11:27: waits for the customer’s answer, reckoned with tomorrow.")
	c.says(j, "no")
	c.post(at+"/propose", reckon...).want(200).wantWords(`#found [role="status"]`, "Expected Thu 15 Oct, 15:27")
}

// What is refused is said beside the form it was typed in, which keeps it.
func TestADayBeforeThePromiseAndAServiceTwiceAreRefused(t *testing.T) {
	c := pricedDesk(t)
	c.post("/drop-off", c.fields("unit0.services", "other")...).want(303)
	j := c.only()
	c.begun(j)
	at := "/jobs/" + c.id(j.ID)
	first, second := c.found(j, "creaks"), c.found(j, "crown is marked")
	crown := []string{"over", "0", "proposal", "crown looked at", "price", "35", "proposedservice", "crown-steerer"}
	c.post(at+"/propose", append(crown, "finding", c.id(first))...).want(303)
	refusal := func(name, field, says, kept string, fields ...string) {
		t.Helper()
		form := c.post(at+"/propose", append(fields, "finding", c.id(second))...).want(http.StatusUnprocessableEntity).
			Find(`form:has([name="finding"][value="` + c.id(second) + `"])`)
		if said := form.Find(`.error, [id$="-error"]`).Text(); !strings.Contains(said, says) {
			t.Errorf("%s: said is %q, want %q", name, said, says)
		}
		if got := form.Find(`input[name="`+field+`"], [name="`+field+`"] option[selected]`).AttrOr("value", ""); got != kept {
			t.Errorf("%s: the form holds %q, want %q", name, got, kept)
		}
		if got := form.Find(`[name="proposal"]`).AttrOr("value", ""); got != "crown looked at" {
			t.Errorf("%s: the words are %q", name, got)
		}
	}
	refusal("a service twice", "proposedservice", "is proposed for “creaks” and waits for the customer", "crown-steerer", crown...)
	refusal("a day before the promise", "readyon", "15 October", "2026-10-14", "over", "0", "proposal", "crown looked at", "price", "35", "readyon", "2026-10-14")
}

func TestTheCustomerReadsWhatAProposalDoesToTheDay(t *testing.T) {
	c := pricedDesk(t)
	visit := c.post("/drop-off", c.fields("unit0.services", "other", "promise", "2026-10-17T16:00:00Z")...).want(303).to
	j := c.only()
	c.begun(j)
	link := counter{site: c.site}.address(j)
	at := "/jobs/" + c.id(j.ID)
	stays, moves := c.found(j, "wipers torn"), c.found(j, "bushings worn")
	c.post(at+"/propose", "over", "0", "proposal", "new wipers", "price", "26", "takes", "15", "finding", c.id(stays)).want(303)
	c.post(at+"/propose", "over", "0", "proposal", "new bushings", "price", "90", "readyon", "2026-10-20", "finding", c.id(moves)).want(303)
	b := c.anybody()
	b.get(link).want(200).wantWords("main", "New wipers: £26.00, with its tax. It stays ready by Saturday 17 October.").
		wantWords("main", "New bushings: £90.00, with its tax. With it, it is ready by Tuesday 20 October instead of Saturday 17 October.")
	c.says(j, "yes")
	b.get(link).want(200).wantWords("#agreed", "").wantWords("main", "by phone").wantWords("main", "With it, it is ready by Tuesday 20 October instead of Saturday 17 October.")
	c.get(visit).want(200).wantWords(".head", "Promised Tue 20 Oct, 17:00")
}

// quoted is a fork that was taken apart for a quote, and a full service proposed
// from it.
func (c frontDesk) quoted() (j job.Job, visit string) {
	c.t.Helper()
	visit = c.post("/drop-off", c.fields("unit0.services", "strip")...).want(303).to
	j = c.only()
	c.begun(j)
	finding := c.found(j, "all seals are gone")
	c.post("/jobs/"+c.id(j.ID)+"/propose", "over", "0", "proposal", "full service", "price", "190", "proposedservice", "full", "finding", c.id(finding)).want(303)
	return j, visit
}

// The fee of a quote stays where the customer says no: common practice (no
// source). Source of the sums: decimal arithmetic by hand.
func TestAQuoteThatIsRefusedEndsWithItsFee(t *testing.T) {
	c := pricedDesk(t)
	j, visit := c.quoted()
	at := "/jobs/" + c.id(j.ID)
	if strings.Contains(c.get(at).want(200).words("#actions-part"), "the quote is refused") {
		t.Error("silence counts as a no")
	}
	c.says(j, "no")
	c.get(at).want(200).wantWords("#actions-part", "the quote is refused")
	c.post(at+"/cancel", "ending", "returned in parts, not rideable", "words", "").want(303)
	c.get(visit).want(200).wantWords("main", "Strip and quote, £30.00").wantWords("main", "It now comes to £36.00, as told.")
	c.post(visit + "/bill/listed").want(303)
	c.get(visit).want(200).wantWords("main", "£36.00 owed")
}

func TestAQuoteThatIsAgreedCountsIntoTheWork(t *testing.T) {
	c := pricedDesk(t)
	j, visit := c.quoted()
	at := "/jobs/" + c.id(j.ID)
	c.says(j, "yes")
	m := c.as(mechanic)
	to := m.get(at).want(200).Find(`#found a[href*="service=full"]`).AttrOr("href", "")
	m.get(to).want(200).wantWords("main", "Full service")
	counter{site: c.site}.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		return bench.AddService(ctx, tx, by(), j.ID, "full", nil)
	}, mechanic)
	p := c.get(visit).want(200).wantWords("main", "Full service as agreed, with tax, £190.00")
	if strings.Contains(p.words("main"), "Strip and quote, £30.00") {
		t.Error("the quote is charged beside what followed from it")
	}
	c.post(visit + "/bill/listed").want(303)
	c.get(visit).want(200).wantWords("main", "£190.00 owed")
}
