package goahead_test

import (
	"errors"
	"testing"
	"time"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/job"
)

// sayDay is that day after the visit was taken in, at noon, said with a
// proposal; the promise stands at the first.
func (s *bikeShop) sayDay(days int) goahead.Day {
	at := s.by.At.Add(time.Duration(days) * 24 * time.Hour)
	on := at.UTC().Truncate(24 * time.Hour)
	return goahead.Day{Minutes: 30, ReadyOn: &on, ReadyAt: &at, ExpectedAt: &s.by.At, ProposedAt: &at}
}

func (s *bikeShop) dated(words string, price int64, days int) goahead.Proposal {
	s.t.Helper()
	finding := s.found(bench.FoundDue, bench.FoundSo, words)
	s.must(s.propose(goahead.New{FindingID: finding, Words: "new " + words, Minor: price, Day: s.sayDay(days)}))
	return s.of(finding)
}

// promises are those given, the newest first.
func (s *bikeShop) promises() []job.Promise {
	s.t.Helper()
	list, err := job.Promises(ctx, s.tx, s.job.VisitID)
	s.must(err)
	return list
}

func TestAYesMovesThePromiseToTheDayThatWasSaid(t *testing.T) {
	s := opened(t, nil)
	p := s.dated("wipers", 2000, 3)
	if !p.Moves() || p.Minutes != 30 || len(s.promises()) != 1 {
		t.Fatalf("proposed is %+v, and silence moved the promise %d times", p.Day, len(s.promises())-1)
	}
	s.said(p, false)
	if n := len(s.promises()); n != 1 {
		t.Fatalf("a no moved the promise: %d are given", n)
	}
	s.said(s.of(p.FindingID), true)
	given := s.promises()
	if len(given) != 2 || !given[0].PromisedAt.Equal(*p.ReadyAt) || given[0].Reason != "agreed: new wipers" || given[0].How != job.AsProposed || given[0].ExpectedAt == nil {
		t.Errorf("after the yes the promises are %+v", given)
	}
	axle := s.found(bench.FoundDue, bench.FoundSo, "axle")
	s.refused("a day before the promise", s.propose(goahead.New{FindingID: axle, Words: "new axle", Minor: 3000, Day: s.sayDay(2)}),
		"readyon: It is promised for "+p.ReadyOn.Format("Monday 2 January"))
	later, between := s.dated("crown", 3000, 5), s.dated("foams", 500, 4)
	s.must(s.onPage(later, true, "Mirela"))
	s.must(s.onPage(between, true, "Mirela"))
	if given = s.promises(); len(given) != 3 || !given[0].PromisedAt.Equal(*later.ReadyAt) || given[0].By != "" {
		t.Errorf("after a yes on their page the promises are %+v", given)
	}
}

func TestANoTakesThePromiseBackToWhatIsStillToBeDone(t *testing.T) {
	s := opened(t, nil)
	first := s.promises()[0].PromisedAt
	short, long := s.dated("wipers", 2000, 3), s.dated("crown", 3000, 5)
	stands := func(when string, want time.Time, given int) {
		t.Helper()
		if list := s.promises(); len(list) != given || !list[0].PromisedAt.Equal(want) {
			t.Errorf("%s promised are %+v, want %d with %v last", when, list, given, want)
		}
	}
	s.said(short, true)
	s.said(long, true)
	s.must(s.onPage(s.of(long.FindingID), false, "Mirela"))
	stands("with the short one", *short.ReadyAt, 4)
	s.said(s.of(short.FindingID), false)
	stands("with neither", first, 5)
	if given := s.promises()[0]; given.Reason != "refused: new wipers" || given.By == "" {
		t.Errorf("it is given as %+v", given)
	}

	s.said(s.of(short.FindingID), true)
	v, err := job.Visit(ctx, s.tx, s.job.VisitID)
	s.must(err)
	byHand := short.ReadyAt.Add(24 * time.Hour)
	s.must(job.MovePromise(ctx, s.tx, s.act(), v.ID, v.Version, byHand, "wipers late", job.Foreseen{}, time.UTC))
	s.said(s.of(short.FindingID), false)
	stands("by hand", byHand, 7)
}

func TestANoIsTakenWhereThePromiseWasNotKept(t *testing.T) {
	s := opened(t, nil)
	_, err := s.tx.Exec(ctx, "reset role; alter table promise disable trigger user; delete from promise; set role "+db.ServeRole)
	s.must(err)
	p := s.dated("wipers", 2000, 3)
	s.said(p, false)
	if n := len(s.promises()); n != 0 {
		t.Errorf("a no gave %d promises", n)
	}
}

func TestWhatGoesAheadMovesThePromiseOnlyWhereADayWasSaid(t *testing.T) {
	s := opened(t, minor(20_000))
	s.due("foams", 500)
	if n := len(s.promises()); n != 1 {
		t.Fatalf("without a day the promise moved: %d are given", n)
	}
	p := s.dated("wipers", 2000, 3)
	given := s.promises()
	if !p.Ahead || len(given) != 2 || !given[0].PromisedAt.Equal(*p.ReadyAt) || given[0].Reason != "inside the limit: new wipers" {
		t.Errorf("ahead %v, and the promises are %+v", p.Ahead, given)
	}
}

func TestADayIsRefusedByField(t *testing.T) {
	s := opened(t, nil)
	finding := s.found(bench.FoundDue, bench.FoundSo, "wipers dry")
	day := func(days int) *time.Time {
		on := s.by.At.Add(time.Duration(days) * 24 * time.Hour).UTC().Truncate(24 * time.Hour)
		return &on
	}
	for sentence, n := range map[string]goahead.New{
		"readyon: That day is past":             {Day: goahead.Day{ReadyOn: day(-3)}},
		"readyon: That is more than a":          {Day: goahead.Day{ReadyOn: day(400)}},
		"readyon: It is promised for We":        {Day: goahead.Day{ReadyOn: day(0)}},
		"partson: That day is past":             {Day: goahead.Day{PartsOn: day(-3)}},
		"partson: That is more than a":          {Day: goahead.Day{PartsOn: day(400)}},
		"takes: Type the minutes":               {Day: goahead.Day{Minutes: -5}},
		"proposedservice: That service is not":  {ServiceCode: "magic"},
		"This job has “Lower-leg":               {ServiceCode: "lower-leg"},
		"proposedservice: “Air-can service” is": {ServiceCode: "air-can"},
	} {
		n.FindingID, n.Words, n.Minor = finding, "new wipers", 2000
		s.refused(sentence, s.propose(n), sentence)
	}
}

// Source: testdata/money/tax.csv, three of 10.02 at 17.5 % have 5.26 of tax
// together, where 1.75 for each would make 5.25.
func TestWhatIsListedIsTaxedTogetherAsItsBillWillBe(t *testing.T) {
	s := opened(t, nil)
	s.must(bill.SetTaxRate(ctx, s.tx, s.act(), bill.TaxRate{Code: "A", Name: "full rate", BP: 1750, Version: 1}))
	var list []bill.Price
	for _, code := range []string{"lower-leg", "crown-steerer", "other"} {
		p := bill.Price{ServiceCode: code, Minor: minor(1002), Currency: "GBP", TaxCode: "A"}
		if code == "lower-leg" {
			p.Version = 1
		}
		list = append(list, p)
	}
	s.must(bill.SetPrices(ctx, s.tx, s.act(), list))
	s.must(bench.AddService(ctx, s.tx, s.act(), s.job.ID, "crown-steerer", nil))
	s.must(bench.AddService(ctx, s.tx, s.act(), s.job.ID, "other", nil))
	if got := s.standing().TotalMinor(); got != 3006+526 {
		t.Errorf("not billed yet it comes to %d, want 35.32", got)
	}
	s.must(bill.Tell(ctx, s.tx, s.act(), s.job.VisitID, false))
	told, err := bill.Told(ctx, s.tx, s.job.VisitID)
	s.must(err)
	s.must(goahead.TakeListed(ctx, s.tx, s.act(), s.job.VisitID, false))
	if st := s.standing(); st.TotalMinor() != told.TotalMinor || st.BilledMinor != told.TotalMinor || st.ListedMinor != 0 {
		t.Errorf("told were %d, and billed it stands %+v", told.TotalMinor, st)
	}
}

func TestWhatSomebodyElsePaysDoesNotCountToTheLimit(t *testing.T) {
	s := opened(t, minor(5000))
	_, err := s.tx.Exec(ctx, "update job set payer = 'us' where id = $1", s.job.ID)
	s.must(err)
	if st := s.standing(); st.TotalMinor() != 0 || st.LeftMinor() != 5000 {
		t.Errorf("at our cost it stands %+v", st)
	}
}

func TestAServiceThatWasAgreedIsChargedOnceAtThePriceSaid(t *testing.T) {
	s := opened(t, nil)
	s.must(bill.SetPrices(ctx, s.tx, s.act(), []bill.Price{{ServiceCode: "crown-steerer", Minor: minor(3500), Currency: "GBP", TaxCode: "A"}}))
	finding := s.found(bench.FoundDue, bench.FoundSo, "creaks")
	s.must(s.propose(goahead.New{FindingID: finding, Words: "crown looked at", Minor: 3000, ServiceCode: "crown-steerer"}))
	s.said(s.of(finding), true)
	if got := s.standing().TotalMinor(); got != 7200+3000 {
		t.Errorf("agreed it comes to %d, want 102.00", got)
	}
	s.must(bench.AddService(ctx, s.tx, s.act(), s.job.ID, "crown-steerer", nil))
	if got := s.standing().TotalMinor(); got != 7200+3000 || !s.of(finding).OnJob {
		t.Errorf("on the job it comes to %d, want 102.00 still", got)
	}
	s.must(goahead.TakeListed(ctx, s.tx, s.act(), s.job.VisitID, false))
	b, err := bill.Get(ctx, s.tx, s.job.VisitID)
	s.must(err)
	if len(b.Standing()) != 2 || b.Balance().BilledMinor != 7200+3000 || !s.of(finding).Billed || s.standing().TotalMinor() != 7200+3000 {
		t.Errorf("billed it comes to %d in %d lines, and it stands at %d", b.Balance().BilledMinor, len(b.Standing()), s.standing().TotalMinor())
	}
	if err := goahead.TakeListed(ctx, s.tx, s.act(), s.job.VisitID, false); !errors.As(err, new(fault.Conflict)) {
		t.Errorf("taken twice: %v", err)
	}
}

func TestAServiceIsProposedOnceForAJob(t *testing.T) {
	s := opened(t, nil)
	first, second := s.found(bench.FoundDue, bench.FoundSo, "creaks"), s.found(bench.FoundDue, bench.FoundSo, "crown marked")
	crown := func(finding int64, over int64) error {
		return s.propose(goahead.New{FindingID: finding, Words: "crown looked at", Minor: 3000, ServiceCode: "crown-steerer", Over: over})
	}
	s.must(crown(first, 0))
	s.refused("while it waits", crown(second, 0), "is proposed for “creaks” and waits for the customer")
	s.must(crown(first, s.of(first).ID))
	s.said(s.of(first), true)
	s.refused("once it is agreed", crown(second, 0), "is proposed for “creaks” and goes ahead already")
	s.said(s.of(first), false)
	s.must(crown(second, 0))
	s.said(s.of(second), true)
	p := s.of(first)
	again := goahead.Said{ProposalID: p.ID, Over: p.AnswerID, Yes: true, How: "by phone", Who: "Mirela"}
	s.refused("a yes after all", goahead.Answer(ctx, s.tx, s.act(), again), "goes ahead for “crown marked” already")
	if got := s.standing().TotalMinor(); got != 7200+3000 {
		t.Errorf("it comes to %d, want the service once, 102.00", got)
	}
}

func TestABillSaysWhichServiceCoversWhatWasAgreed(t *testing.T) {
	s := opened(t, nil)
	finding := s.found(bench.FoundDue, bench.FoundSo, "sticky")
	s.must(s.propose(goahead.New{FindingID: finding, Words: "air spring", Minor: 3000, ServiceCode: "air-spring"}))
	s.said(s.of(finding), true)
	s.must(bench.AddService(ctx, s.tx, s.act(), s.job.ID, "air-spring", nil))
	agreed := s.standing().TotalMinor()
	s.must(bill.SetPrices(ctx, s.tx, s.act(), []bill.Price{{ServiceCode: "full", Minor: minor(15_000), Currency: "GBP", TaxCode: "A"}}))
	s.must(bench.AddService(ctx, s.tx, s.act(), s.job.ID, "full", nil))
	if got := s.standing(); agreed != 3000 || got.AheadMinor != 0 || got.TotalMinor() != 18_000 {
		t.Errorf("agreed it came to %d, and covered it stands %+v; want 30.00, and the full service alone with its tax", agreed, got)
	}
	s.refused("covered by the full service", goahead.Bill(ctx, s.tx, s.act(), s.of(finding).ID, "A"), "“Full service” on this job covers “Air-spring service”")
}

func TestWhatWasBilledBeforeItsServiceWasAddedIsNotChargedAgain(t *testing.T) {
	s := opened(t, nil)
	s.must(bill.SetPrices(ctx, s.tx, s.act(), []bill.Price{{ServiceCode: "crown-steerer", Minor: minor(3500), Currency: "GBP", TaxCode: "A"}}))
	finding := s.found(bench.FoundDue, bench.FoundSo, "creaks")
	s.must(s.propose(goahead.New{FindingID: finding, Words: "crown looked at", Minor: 3000, ServiceCode: "crown-steerer"}))
	s.said(s.of(finding), true)
	s.must(goahead.Bill(ctx, s.tx, s.act(), s.of(finding).ID, "A"))
	s.must(bench.AddService(ctx, s.tx, s.act(), s.job.ID, "crown-steerer", nil))
	list, err := goahead.OfVisit(ctx, s.tx, s.job.VisitID)
	s.must(err)
	offers, err := bill.Offers(ctx, s.tx, s.job.VisitID)
	s.must(err)
	if left := goahead.AsAgreed(list, offers); len(left) != 1 || left[0].ServiceCode != "lower-leg" {
		t.Errorf("still to be charged are %+v", left)
	}
	s.must(goahead.TakeListed(ctx, s.tx, s.act(), s.job.VisitID, false))
	if got := s.standing(); got.BilledMinor != 7200+3000 || got.TotalMinor() != 7200+3000 {
		t.Errorf("billed it stands %+v, want 102.00", got)
	}
}
