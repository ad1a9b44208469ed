package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/goahead"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// proposed is a job with work proposed for what was found, and the address of
// its customer’s page.
func (c counter) proposed() (j job.Job, p goahead.Proposal, at string) {
	c.t.Helper()
	j = c.benchJob()
	at = c.address(j)
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		if err := job.Move(ctx, tx, by(), j.ID, job.InQueue, ""); err != nil {
			return err
		}
		if err := bench.Start(ctx, tx, by(), j.ID); err != nil {
			return err
		}
		found := bench.Found{Grade: bench.FoundDue, Cause: bench.FoundSo, Words: "left wiper torn"}
		if err := bench.AddFinding(ctx, tx, by(), j.ID, found); err != nil {
			return err
		}
		id, err := bench.FoundID(ctx, tx, j.ID, nil, found)
		if err != nil {
			return err
		}
		return goahead.Propose(ctx, tx, by(), true, goahead.New{FindingID: id, Words: "new wipers", Minor: 2600})
	}, desk, mechanic)
	return j, c.proposalOf(j), at
}

func (c counter) proposalOf(j job.Job) goahead.Proposal {
	c.t.Helper()
	list, err := goahead.OfVisit(context.Background(), c.pool, j.VisitID)
	if err != nil || len(list) != 1 {
		c.t.Fatalf("%d proposals: %v", len(list), err)
	}
	return list[0]
}

// sayings are the fields of an answer to a proposal as it was shown.
func sayings(p goahead.Proposal, said, who string) []string {
	id := strconv.FormatInt(p.ID, 10)
	return []string{"form", "asked", "said." + id, said, "over." + id, strconv.FormatInt(p.AnswerID, 10), "who", who}
}

func TestACustomerAnswersOnTheirPage(t *testing.T) {
	c := server(t).counter()
	j, p, at := c.proposed()
	b, d := c.anybody(), c.as(desk)
	page := b.get(at).want(http.StatusOK).wantWords("#asked", "We need your word").wantWords("main", "New wipers: £26.00")
	field := "said." + strconv.FormatInt(p.ID, 10)
	if page.Find(`input[name="`+field+`"]`).Length() != 3 || page.Find(".main").Length() != 1 {
		t.Errorf("%d answers are offered and %d buttons filled", page.Find(`input[name="`+field+`"]`).Length(), page.Find(".main").Length())
	}
	refused := b.post(at+"/answer", sayings(p, "yes", " ")...).want(http.StatusUnprocessableEntity)
	if refused.wrong("who") == "" || refused.Find(`input[name="`+field+`"][value="yes"][checked]`).Length() != 1 {
		t.Errorf("without a name: %q beside it, or the yes is lost", refused.wrong("who"))
	}
	b.post(at+"/answer", "form", "asked", "who", "Odette", "over."+strconv.FormatInt(p.ID, 10), "0").want(http.StatusUnprocessableEntity).wantWords("#f-said-"+strconv.FormatInt(p.ID, 10)+"-error", "Choose yes, no")
	d.get("/jobs/"+strconv.FormatInt(j.ID, 10)).wantWords("#standing-part", "waiting on customer")
	sent := append(sayings(p, "yes", "Odette"), "intent", page.intent(at+"/answer"))
	for range 2 { // and the same press once more
		b.post(at+"/answer", sent...).wantTo(at + "?done=answered")
	}
	b.get(at+"?done=answered").wantWords(".told", "We have your answer").wantWords("#content", "Said by Odette, on this page")
	onJob := d.get("/jobs/"+strconv.FormatInt(j.ID, 10)).wantWords("#found", "Odette on their page")
	if strings.Contains(onJob.words("#standing-part"), "waiting on customer") {
		t.Error("the job still waits for its customer")
	}
	for _, tables := range []string{"intent where answer", "event where detail::text"} {
		var n int
		if err := c.pool.QueryRow(context.Background(), "select count(*) from "+tables+" like '%' || $1 || '%'", strings.TrimPrefix(at, "/c/")).Scan(&n); err != nil || n != 0 {
			t.Errorf("the secret of the link is kept %d times in %s: %v", n, tables, err)
		}
	}
	b.post(at+"/answer", sayings(p, "no", "Odette")...).want(http.StatusConflict).wantWords("[role=alert]", "look again")
	b.post(at+"/answer", sayings(c.proposalOf(j), "no", "Odette")...).wantTo(at + "?done=answered")
	if c.proposalOf(j).Yes {
		t.Error("a later no does not stand")
	}
}

func TestAnEstimateIsKeptAtDropOffAndShown(t *testing.T) {
	c := newFrontDesk(t)
	to := c.post("/drop-off", c.fields()...).want(http.StatusSeeOther).to
	p := c.get(to).want(http.StatusOK).wantWords("#estimate + p", "Told on").wantWords("#estimate + p", "1 service without a price yet")
	c.get(to+"/receipt").want(http.StatusOK).wantWords(".receipt", "Told on").wantWords(".receipt", "Parts and whatever is found")
	link := strings.TrimPrefix(p.Find("#content a[href*='/c/']").AttrOr("href", ""), c.url)
	c.anybody().get(link).want(http.StatusOK).wantWords("main", "not priced yet").wantWords("main", "Parts and whatever is found")
}

func TestACustomerAsksToBeRung(t *testing.T) {
	c := server(t).counter()
	j, p, at := c.proposed()
	b, d := c.anybody(), c.as(desk)
	b.post(at+"/answer", append(sayings(p, "call", "Odette"), "words", "after five")...).wantTo(at + "?done=call")
	b.get(at+"?done=call").wantWords(".told", "We ring you").wantWords("#asked + p", "You asked us to ring you")
	d.get("/board").wantWords("#board-asks", "1 customer asks to be rung")
	page := d.get("/answers").want(http.StatusOK).wantWords("#asked-part", "asks to be rung").wantWords("#asked-part", "after five")
	if page.Find(`#asked-part a[href^="tel:"]`).Length() != 1 {
		t.Error("their number cannot be rung from the list")
	}
	to := "/answers/" + strconv.FormatInt(p.ID, 10) + "/reminded"
	if got := d.post(to, "how", "by owl", "who", "Odette").want(http.StatusUnprocessableEntity); got.wrong("how") == "" || got.value("who") != "Odette" {
		t.Errorf("a way there is not: %q beside it, %q kept", got.wrong("how"), got.value("who"))
	}
	d.post(to, "how", "by phone", "who", "Odette").want(http.StatusSeeOther)
	d.get("/answers").wantWords("#asked-part", "waits, ask again")
	d.get("/board").wantWords("#board-asks", "1 answer is awaited")
	if !c.proposalOf(j).Waits() {
		t.Error("a reminder counts as an answer")
	}
}
