package goahead_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var ctx = context.Background()

// bikeShop is a fork on the bench for a service of 60.00 with its tax of a
// fifth on top, 72.00 in all. All of it is invented.
type bikeShop struct {
	t   *testing.T
	tx  pgx.Tx
	by  history.By
	job job.Job
}

func minor(n int64) *int64 { return &n }

func opened(t *testing.T, limit *int64) *bikeShop {
	t.Helper()
	s := &bikeShop{t: t, tx: dbtest.Tx(t)}
	s.by = dbtest.By(t, s.tx, "desk", "mechanic", "owner")
	s.must(procedure.Install(ctx, s.tx, s.by))
	s.must(bill.SetTaxRate(ctx, s.tx, s.act(), bill.TaxRate{Name: "full rate", BP: 2000}))
	s.must(bill.SetPrices(ctx, s.tx, s.act(), []bill.Price{{ServiceCode: "lower-leg", Minor: minor(6000), Currency: "GBP", TaxCode: "A"}}))
	id, err := job.TakeIn(ctx, s.tx, s.act(), job.DropOff{
		NewCustomer: customer.Details{Name: "Mirela Anttonen", Phone: "07700 900 140"},
		PromisedAt:  dbtest.Now.Add(24 * time.Hour), Currency: "GBP", LimitMinor: limit,
		Units: []job.DropOffUnit{{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "a fork of no known make"},
			Symptoms: []string{job.JustDue}, Services: []string{"lower-leg"}}},
	})
	s.must(err)
	v, err := job.Visit(ctx, s.tx, id)
	s.must(err)
	s.job = v.Jobs[0]
	s.must(job.Move(ctx, s.tx, s.act(), s.job.ID, job.InQueue, ""))
	s.must(bench.Start(ctx, s.tx, s.act(), s.job.ID))
	return s
}

func (s *bikeShop) act() history.By { return dbtest.Act(s.t, s.tx, s.by) }

func (s *bikeShop) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s *bikeShop) found(grade, cause, words string) int64 {
	s.t.Helper()
	s.must(bench.AddFinding(ctx, s.tx, s.act(), s.job.ID, bench.Found{Grade: grade, Cause: cause, Words: words}))
	list, err := bench.Findings(ctx, s.tx, s.job.ID)
	s.must(err)
	return list[len(list)-1].ID
}

// due proposes work for something that needs doing, and gives it back.
func (s *bikeShop) due(words string, price int64) goahead.Proposal {
	s.t.Helper()
	finding := s.found(bench.FoundDue, bench.FoundSo, words)
	s.must(s.propose(goahead.New{FindingID: finding, Words: "new " + words, Minor: price}))
	return s.of(finding)
}

func (s *bikeShop) propose(n goahead.New) error {
	return goahead.Propose(ctx, s.tx, s.act(), false, n)
}

func (s *bikeShop) of(finding int64) goahead.Proposal {
	s.t.Helper()
	list, err := goahead.OfVisit(ctx, s.tx, s.job.VisitID)
	s.must(err)
	p := goahead.OfFinding(list, finding)
	if p == nil {
		s.t.Fatal("nothing is proposed")
	}
	return *p
}

func (s *bikeShop) standing() goahead.Standing {
	s.t.Helper()
	st, err := goahead.Reckon(ctx, s.tx, s.job.VisitID, false)
	s.must(err)
	return st
}

func (s *bikeShop) waits() bool {
	s.t.Helper()
	j, err := job.Get(ctx, s.tx, s.job.ID)
	s.must(err)
	return len(j.Holds) > 0
}

func (s *bikeShop) said(p goahead.Proposal, yes bool) {
	s.t.Helper()
	s.must(goahead.Answer(ctx, s.tx, s.act(), goahead.Said{ProposalID: p.ID, Over: p.AnswerID, Yes: yes, How: "by phone", Who: "Mirela"}))
}

func (s *bikeShop) refused(what string, err error, sentence string) {
	s.t.Helper()
	if err == nil || !strings.Contains(err.Error(), sentence) {
		s.t.Errorf("%s: %v, want %q", what, err, sentence)
	}
}

// What is inside the limit goes ahead, with the services wanted counted first;
// the next one is beyond it and waits: common practice (no source).
func TestInsideTheLimitItGoesAheadAndBeyondItWaits(t *testing.T) {
	s := opened(t, minor(10_000))
	if st := s.standing(); st.TotalMinor() != 7200 || st.LeftMinor() != 2800 {
		t.Fatalf("before anything is proposed it stands %+v, want 72.00 of 100.00", st)
	}
	wiper := s.due("wipers", 2800)
	if !wiper.Ahead || !wiper.Goes() || wiper.TotalMinor != 10_000 || s.waits() {
		t.Errorf("to the limit: %+v, waits %v; want it ahead at 100.00", wiper, s.waits())
	}
	axle := s.due("axle", 1)
	if axle.Ahead || !axle.Waits() || axle.TotalMinor != 10_001 || !s.waits() {
		t.Errorf("a penny beyond: %+v, waits %v; want it to wait", axle, s.waits())
	}
	if st := s.standing(); st.TotalMinor() != 10_000 {
		t.Errorf("what waits counts: %+v", st)
	}
	s.said(axle, true)
	if st := s.standing(); st.TotalMinor() != 10_001 || st.LeftMinor() != -1 || s.waits() {
		t.Errorf("agreed: %+v, waits %v; want it counted, and the wait ended", st, s.waits())
	}
}

func TestWhereEverythingIsAskedNothingGoesAhead(t *testing.T) {
	s := opened(t, nil)
	if p := s.due("wipers", 0); !p.Waits() || !s.waits() {
		t.Errorf("for nothing: %+v, waits %v", p, s.waits())
	}
}

func TestTheWaitEndsWithTheLastAnswer(t *testing.T) {
	s := opened(t, nil)
	first, second := s.due("wipers", 2000), s.due("axle", 3000)
	if second.HoldID != nil {
		t.Error("the job waits already, and another wait was put on it")
	}
	s.said(first, true)
	if !s.waits() {
		t.Error("one of two is answered, and the job waits no longer")
	}
	s.said(second, false)
	if s.waits() || s.of(second.FindingID).Goes() {
		t.Error("both are answered, and the job waits still, or a no goes ahead")
	}
}

func TestAWaitPutByHandStays(t *testing.T) {
	s := opened(t, nil)
	s.must(job.Hold(ctx, s.tx, s.act(), s.job.ID, job.WaitingOnCustomer, "", nil))
	s.said(s.due("wipers", 2000), true)
	if !s.waits() {
		t.Error("the desk’s own wait ended with an answer to something else")
	}
}

func TestALaterAnswerStandsInPlaceOfTheFirst(t *testing.T) {
	s := opened(t, nil)
	p := s.due("wipers", 2000)
	s.said(p, false)
	s.said(s.of(p.FindingID), true)
	if got := s.of(p.FindingID); !got.Yes || !got.Goes() {
		t.Errorf("it stands as %+v", got)
	}
	var kept int
	s.must(s.tx.QueryRow(ctx, "select count(*) from proposal_answer where proposal_id = $1", p.ID).Scan(&kept))
	if kept != 2 {
		t.Errorf("%d answers are kept, want both", kept)
	}
	err := goahead.Answer(ctx, s.tx, s.act(), goahead.Said{ProposalID: p.ID, Yes: true, How: "by phone", Who: "Mirela"})
	s.refused("over one that is not the last", err, "Somebody else kept an answer")
}

func TestAnotherProposalStandsInPlaceOfTheFirst(t *testing.T) {
	s := opened(t, minor(10_000))
	dear := s.due("bushings", 9000)
	s.refused("without saying over which", s.propose(goahead.New{FindingID: dear.FindingID, Words: "glide", Minor: 1}), "Somebody else proposed something")
	s.must(s.propose(goahead.New{FindingID: dear.FindingID, Words: "sized in place", Minor: 1500, Over: dear.ID}))
	cheap := s.of(dear.FindingID)
	if !cheap.Ahead || s.waits() || s.standing().TotalMinor() != 8700 {
		t.Errorf("it stands as %+v at %d, waits %v; want it ahead and the wait ended", cheap, s.standing().TotalMinor(), s.waits())
	}
	err := goahead.Answer(ctx, s.tx, s.act(), goahead.Said{ProposalID: dear.ID, Yes: true, How: "by phone", Who: "Mirela"})
	s.refused("an answer to the first", err, "Something else is proposed in its place")
}

func TestWhatHappenedHereIsPricedToNobody(t *testing.T) {
	s := opened(t, nil)
	finding := s.found(bench.FoundDue, bench.HappenedHere, "knob snapped by us")
	s.refused("priced", s.propose(goahead.New{FindingID: finding, Words: "new knob", Minor: 1200}), "not the customer’s to pay")
	if s.waits() {
		t.Error("the job waits for a customer who has nothing to say to it")
	}
}

func TestWhatIsPutRightOrWithdrawnWaitsForNobody(t *testing.T) {
	for name, answer := range map[string]func(s *bikeShop, finding int64) error{
		"put right": func(s *bikeShop, f int64) error { return bench.Mend(ctx, s.tx, s.act(), s.job.ID, f, "cleaned") },
		"withdrawn": func(s *bikeShop, f int64) error { return bench.Withdraw(ctx, s.tx, s.act(), s.job.ID, f, "was dirt") },
	} {
		t.Run(name, func(t *testing.T) {
			s := opened(t, nil)
			p := s.due("wipers", 2000)
			s.must(answer(s, p.FindingID))
			s.must(goahead.Release(ctx, s.tx, s.act(), s.job.ID))
			if s.waits() || s.of(p.FindingID).Waits() {
				t.Error("the job waits still")
			}
		})
	}
}

// A note may be priced too, and keeps nothing waiting.
func TestOnlyWhatNeedsDoingHoldsTheJob(t *testing.T) {
	s := opened(t, nil)
	finding := s.found(bench.FoundWatch, bench.FoundSo, "wipers dry")
	s.must(s.propose(goahead.New{FindingID: finding, Words: "new wipers", Minor: 2000}))
	if !s.of(finding).Waits() || s.waits() {
		t.Errorf("asked: %v, the job waits: %v; want it asked and the work to go on", s.of(finding).Waits(), s.waits())
	}
}

func TestWhatIsBilledCountsOnce(t *testing.T) {
	s := opened(t, minor(20_000))
	p := s.due("wipers", 2400)
	before := s.standing().TotalMinor()
	s.must(goahead.Bill(ctx, s.tx, s.act(), p.ID, "A"))
	if st := s.standing(); st.TotalMinor() != before || st.BilledMinor != 2400 || st.AheadMinor != 0 {
		t.Errorf("on the bill it stands %+v, want %d as before", st, before)
	}
	s.refused("twice", goahead.Bill(ctx, s.tx, s.act(), p.ID, "A"), "on the bill already")
	b, err := bill.Get(ctx, s.tx, s.job.VisitID)
	s.must(err)
	s.must(bill.TakeBack(ctx, s.tx, s.act(), s.job.VisitID, b.Lines[len(b.Lines)-1].ID, "wrong tax"))
	if s.of(p.FindingID).Billed || s.standing().TotalMinor() != before {
		t.Error("taken back, it is not off the bill, or no longer goes ahead")
	}
	waiting := s.due("crown", 90_000)
	s.refused("without a yes", goahead.Bill(ctx, s.tx, s.act(), waiting.ID, "A"), "Only what goes ahead is billed")
}

func TestBadInputIsSaidByField(t *testing.T) {
	s := opened(t, nil)
	finding := s.found(bench.FoundDue, bench.FoundSo, "wipers dry")
	s.refused("no words", s.propose(goahead.New{FindingID: finding, Minor: 1}), "proposal: Say what is proposed")
	s.refused("endless words", s.propose(goahead.New{FindingID: finding, Words: strings.Repeat("x", 201)}), "proposal: Keep it under 200")
	s.refused("a price below zero", s.propose(goahead.New{FindingID: finding, Words: "x", Minor: -1}), "price: ")
	s.must(s.propose(goahead.New{FindingID: finding, Words: "new wipers", Minor: 2000}))
	p := s.of(finding)
	err := goahead.Answer(ctx, s.tx, s.act(), goahead.Said{ProposalID: p.ID, Yes: true, How: "by dream", Who: " "})
	s.refused("how", err, "how: Choose how")
	s.refused("who", err, "who: Say who")
	mechanic := dbtest.By(t, s.tx, "mechanic")
	err = goahead.Answer(ctx, s.tx, mechanic, goahead.Said{ProposalID: p.ID, Yes: true, How: "by phone", Who: "Mirela"})
	if !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("a mechanic: %v, want it forbidden", err)
	}
}

func (s *bikeShop) onPage(p goahead.Proposal, yes bool, who string) error {
	return goahead.AnswerOnPage(ctx, s.tx, s.customer(), s.job.VisitID, goahead.Said{ProposalID: p.ID, Over: p.AnswerID, Yes: yes, Who: who})
}

// customer is an act of nobody who works here.
func (s *bikeShop) customer() history.By { return dbtest.Act(s.t, s.tx, history.By{At: s.by.At}) }

func TestTheCustomerAnswersOnTheirPageUntilItIsDone(t *testing.T) {
	s := opened(t, nil)
	p := s.due("wipers", 2000)
	s.refused("without a name", s.onPage(p, true, " "), "who: Say who")
	s.must(s.onPage(p, true, "Mirela"))
	yes := s.of(p.FindingID)
	if !yes.Goes() || yes.How != goahead.OnPage || yes.Who != "Mirela" || yes.AnswerBy != "" || s.waits() {
		t.Errorf("a yes stands as %+v, the job waits: %v", yes, s.waits())
	}
	s.must(s.onPage(yes, true, "Mirela"))
	if again := s.of(p.FindingID); again.AnswerID != yes.AnswerID {
		t.Error("the same said again is kept twice")
	}
	s.refused("over an answer that is not the last", s.onPage(p, false, "Mirela"), "Somebody else kept an answer")
	s.must(s.onPage(yes, false, "Mirela"))
	if no := s.of(p.FindingID); no.Goes() || no.AnswerID == yes.AnswerID {
		t.Errorf("a later no stands as %+v", no)
	}
	s.refused("through the link of another visit", goahead.AnswerOnPage(ctx, s.tx, s.customer(), s.job.VisitID+1, goahead.Said{ProposalID: p.ID, Who: "x"}), "no such proposal")
	s.must(s.onPage(s.of(p.FindingID), true, "Mirela"))
	s.must(goahead.Bill(ctx, s.tx, s.act(), p.ID, "A"))
	s.refused("once it is billed", s.onPage(s.of(p.FindingID), false, "Mirela"), "done or on the bill")
}

func TestAnAnswerToWhatWasReplacedIsRefused(t *testing.T) {
	s := opened(t, nil)
	p := s.due("wipers", 2000)
	s.must(s.propose(goahead.New{FindingID: p.FindingID, Words: "one wiper", Minor: 1200, Over: p.ID}))
	s.refused("late", s.onPage(p, true, "Mirela"), "Something else is proposed in its place")
	if s.of(p.FindingID).AnswerID != 0 || !s.waits() {
		t.Error("the answer to the first counts for the second")
	}
}

func TestAPageTakesAnswersWithoutEndNot(t *testing.T) {
	s := opened(t, nil)
	p := s.due("wipers", 2000)
	var err error
	n := 0
	for ; err == nil && n < 50; n++ {
		p = s.of(p.FindingID)
		err = s.onPage(p, n%2 == 0, "Mirela")
	}
	if n != 21 {
		t.Errorf("%d answers were taken before %v, want 20", n-1, err)
	}
}

func (s *bikeShop) asked() []goahead.Ask {
	s.t.Helper()
	list, err := goahead.Asks(ctx, s.tx)
	s.must(err)
	return list
}

// A day of silence before asking again: common practice (no source).
func TestWhoIsSilentIsAskedAgainAndSilenceIsNoYes(t *testing.T) {
	s := opened(t, nil)
	p := s.due("wipers", 2000)
	list := s.asked()
	if len(list) != 1 || list[0].Customer != "Mirela Anttonen" || !list[0].RemindAt().Equal(p.At.Add(24*time.Hour)) {
		t.Fatalf("awaited are %+v", list)
	}
	s.refused("how", goahead.Remind(ctx, s.tx, s.act(), p.ID, "by dream", ""), "how: Choose how")
	s.by.At = s.by.At.Add(30 * time.Hour)
	s.must(goahead.Remind(ctx, s.tx, s.act(), p.ID, "by phone", ""))
	p = s.of(p.FindingID)
	if p.Goes() || !p.Waits() || !s.waits() || !p.RemindAt().Equal(s.by.At.Add(24*time.Hour)) {
		t.Errorf("after a reminder it stands %+v, the job waits: %v", p, s.waits())
	}
	s.said(p, true)
	if len(s.asked()) != 0 {
		t.Error("an answer is awaited that was given")
	}
	s.refused("after the answer", goahead.Remind(ctx, s.tx, s.act(), p.ID, "by phone", ""), "They have answered")
}

func TestWhoAsksToBeRungStandsFirstUntilSomebodySpokeWithThem(t *testing.T) {
	s := opened(t, nil)
	first, second := s.due("wipers", 2000), s.due("axle", 3000)
	call := func(p goahead.Proposal) error {
		return goahead.AskCall(ctx, s.tx, s.customer(), s.job.VisitID, p.ID, "Mirela", "after five")
	}
	s.must(call(second))
	s.must(call(second))
	list := s.asked()
	if len(list) != 2 || list[0].ID != second.ID || !list[0].AsksCall() || !list[0].Waits() || list[1].ID != first.ID {
		t.Fatalf("awaited are %+v, want the call before the silence, and the call no answer", list)
	}
	s.by.At = s.by.At.Add(time.Hour)
	s.must(goahead.Remind(ctx, s.tx, s.act(), second.ID, "by phone", ""))
	if !s.of(second.FindingID).AsksCall() {
		t.Error("nobody answered the phone, and the call counts as done")
	}
	s.must(goahead.Remind(ctx, s.tx, s.act(), second.ID, "by phone", "Mirela"))
	if s.of(second.FindingID).AsksCall() {
		t.Error("they were spoken with, and still ask to be rung")
	}
	var kept int
	s.must(s.tx.QueryRow(ctx, "select count(*) from proposal_call").Scan(&kept))
	if kept != 1 {
		t.Errorf("%d calls are kept of two presses", kept)
	}
}
