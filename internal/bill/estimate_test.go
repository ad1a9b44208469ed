package bill

import (
	"reflect"
	"slices"
	"testing"

	"damperdesk/internal/job"
)

// Source: decimal arithmetic by hand, a fifth on 90.00.
func TestAnEstimateStaysAsItWasTold(t *testing.T) {
	c := opened(t)
	c.must(Tell(ctx, c.tx, c.by(c.desk), c.visit, false))
	c.must(SetPrices(ctx, c.tx, c.by(c.owner), []Price{{ServiceCode: "air", Minor: minor(9900), Currency: "GBP", TaxCode: "A", Version: 1}}))
	e, err := Told(ctx, c.tx, c.visit)
	c.must(err)
	if e.TotalMinor != 10_800 || e.TaxMinor != 1800 || len(e.Lines) != 2 || *e.Lines[0].Minor != 9000 || e.Unpriced() != 1 {
		t.Errorf("told was %+v", e)
	}
	if none, err := Told(ctx, c.tx, c.visit+1); err != nil || none.ID != 0 {
		t.Errorf("of a visit that is not there: %+v, %v", none, err)
	}
	c.sound()
}

// What the counter shows is what is told: one comes from what is typed, the
// other from what was kept of it.
func TestWhatIsForetoldIsTold(t *testing.T) {
	c := opened(t)
	c.exec("update job set payer = 'warranty' where id = $1", c.jobs[0].ID)
	c.exec("insert into job_words (job_id, payer_words) values ($1, 'claim 7') on conflict (job_id) do update set payer_words = 'claim 7'", c.jobs[0].ID)
	c.must(Tell(ctx, c.tx, c.by(c.desk), c.visit, true))
	told, err := Told(ctx, c.tx, c.visit)
	c.must(err)
	foretold, err := Foretell(ctx, c.tx, []Unit{{Services: []string{"lower", "air"}, Payer: Payer{ByWarranty, "claim 7"}}, {Services: []string{"own"}, Payer: TheCustomer}}, "GBP", Taxing{Included: true})
	c.must(err)
	for i, l := range told.Lines {
		foretold.Lines[i].JobID, foretold.Lines[i].Number = l.JobID, l.Number
	}
	foretold.ID, foretold.VisitID, foretold.At = told.ID, told.VisitID, told.At
	if !reflect.DeepEqual(foretold, told) {
		t.Errorf("foretold was\n%+v and told\n%+v", foretold, told)
	}
	if len(told.Shares) != 1 || told.Shares[0] != (EstimateShare{ByWarranty, "claim 7", 9000, 1500}) || told.TotalMinor != 0 {
		t.Errorf("shared out it is %+v and %d for the customer", told.Shares, told.TotalMinor)
	}
	c.sound()
}

// Source: testdata/money/tax.csv, four lines of 0.99 at 20 % come to 0.79 of tax
// together and to 0.80 each by itself.
func TestAnEstimateIsTaxedAsItsBillWillBe(t *testing.T) {
	c := opened(t)
	c.must(SetPrices(ctx, c.tx, c.by(c.owner), []Price{{ServiceCode: "own", Minor: minor(99), Currency: "GBP", TaxCode: "A"}}))
	four := make([]Unit, 4)
	for i := range four {
		four[i] = Unit{Services: []string{"own"}}
	}
	for _, want := range []struct {
		name string
		t    Taxing
		tax  int64
	}{{"together", Taxing{}, 79}, {"line by line", Taxing{ByLine: true}, 80}} {
		e, err := Foretell(ctx, c.tx, four, "GBP", want.t)
		c.must(err)
		if e.TaxMinor != want.tax || e.TotalMinor != 396+want.tax {
			t.Errorf("%s: %d of tax in %d, want %d", want.name, e.TaxMinor, e.TotalMinor, want.tax)
		}
	}
}

func TestTheLimitIsComparedWithTheCustomersTotal(t *testing.T) {
	e := Estimate{TotalMinor: 10_800}
	for _, c := range []struct {
		limit *int64
		want  int64
	}{{nil, 0}, {minor(10_800), 0}, {minor(10_000), 800}, {minor(0), 10_800}} {
		if got := e.AboveMinor(c.limit); got != c.want {
			t.Errorf("above %v by %d, want %d", c.limit, got, c.want)
		}
	}
}

// Of a quote the fee stays where the customer says no, and counts into the work
// where they say yes: common practice (no source).
func TestAQuoteIsChargedUnlessWorkFollowed(t *testing.T) {
	quote, full := wanted{JobID: 1, ServiceCode: "strip", Quote: true}, wanted{JobID: 1, ServiceCode: "full"}
	other := wanted{JobID: 2, ServiceCode: "full"}
	ended := func(ending string, begun bool, list ...wanted) (all []wanted) {
		for _, w := range list {
			w.Ending, w.Begun = ending, begun
			all = append(all, w)
		}
		return all
	}
	for _, c := range []struct {
		name string
		list []wanted
		want string
	}{
		{"alone", []wanted{quote}, "strip"},
		{"beside another fork’s work", []wanted{quote, other}, "strip full"},
		{"once work follows", []wanted{quote, full}, "full"},
		{"done with what followed", ended(job.Done, true, quote, full), "full"},
		{"given back in parts", ended("returned in parts, not rideable", true, quote), "strip"},
		{"given up after a yes", ended("no parts", true, quote, full), "strip"},
		{"never taken apart", ended("returned undone", false, quote), ""},
		{"no quote, and ended otherwise", ended("no fault found", true, full), ""},
	} {
		got := ""
		for i, w := range charged(c.list) {
			if i > 0 {
				got += " "
			}
			got += w.ServiceCode
		}
		for _, w := range c.list {
			err, offered := uncharged(c.list, w.JobID, w.ServiceCode), slices.ContainsFunc(charged(c.list), func(o wanted) bool { return o.JobID == w.JobID && o.ServiceCode == w.ServiceCode })
			if offered != (err == nil) {
				t.Errorf("%s: %s is offered: %v, and put on the bill: %v", c.name, w.ServiceCode, offered, err)
			}
		}
		if got != c.want {
			t.Errorf("%s: %q is charged, want %q", c.name, got, c.want)
		}
	}
}
