package web

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// counter takes units in over the counter of a site.
type counter struct {
	*site
	desk     history.By
	customer int64
}

// counter sets up what a drop-off needs: services and a customer.
func (s *site) counter() counter {
	s.t.Helper()
	c := counter{site: s}
	s.write(func(tx pgx.Tx, by history.By) error { return procedure.Install(context.Background(), tx, by) })
	s.write(func(tx pgx.Tx, by history.By) (err error) {
		c.desk = dbtest.By(s.t, tx, desk)
		c.customer, err = customer.Add(context.Background(), tx, c.desk, customer.Details{Name: "Odette Marsh", Phone: "07700 900118"})
		return err
	})
	return c
}

// takeIn takes a fork in and gives its job back.
func (c counter) takeIn(model string, promised time.Time) job.Job {
	c.t.Helper()
	var visit int64
	err := pgx.BeginFunc(context.Background(), c.pool, func(tx pgx.Tx) (err error) {
		visit, err = job.TakeIn(context.Background(), tx, dbtest.Act(c.t, tx, c.desk), job.DropOff{
			CustomerID: c.customer, PromisedAt: promised, Currency: "GBP",
			Units: []job.DropOffUnit{{
				NewUnit:  customer.UnitDetails{Kind: "fork", ModelWords: model},
				Services: []string{"lower-leg"}, Symptoms: []string{"stuck-down"}, Complaint: "went down on its own",
			}},
		})
		return err
	})
	if err != nil {
		c.t.Fatal(err)
	}
	v, err := job.Visit(context.Background(), c.pool, visit)
	if err != nil || len(v.Jobs) != 1 {
		c.t.Fatalf("the visit has %d jobs: %v", len(v.Jobs), err)
	}
	return v.Jobs[0]
}

// rewrite is write as a person with these roles.
func (c counter) rewrite(fn func(ctx context.Context, tx pgx.Tx, by func() history.By) error, roles ...string) {
	c.t.Helper()
	ctx := context.Background()
	err := pgx.BeginFunc(ctx, c.pool, func(tx pgx.Tx) error {
		who := dbtest.By(c.t, tx, roles...)
		return fn(ctx, tx, func() history.By { return dbtest.Act(c.t, tx, who) })
	})
	if err != nil {
		c.t.Fatal(err)
	}
}

func page404(b *browser, paths ...string) {
	b.t.Helper()
	for _, path := range paths {
		b.get(path).want(404)
	}
}

var tomorrow = dbtest.Now.Add(24 * time.Hour)

func TestAJobShowsWhatItIsAndWhatItsComplaintMeans(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	p := c.as(desk).get(jobURL(j)).want(200)
	p.wantWords("h1", fmt.Sprint(j.Number)).wantWords("h1", "Tindra Lode").wantWords(".lead", "Odette Marsh 07700 900118")
	p.wantWords("#standing-part", "dropped off").wantWords("#standing-part", "PromisedWed 14:12")
	p.wantWords(".caution", "trapped pressure").wantWords("main", "“went down on its own”")
	p.wantWords("#history-part", "taken in, dropped off")
	if live := p.Find("body").AttrOr("data-live", ""); live != fmt.Sprint("job:", j.ID) {
		t.Errorf("the page follows %q", live)
	}
	page404(c.as(desk), "/jobs/999999", "/jobs/x", "/jobs/0", jobURL(j)+"?before=x")
}

func jobURL(j job.Job) string { return fmt.Sprint("/jobs/", j.ID) }

func TestEachFormOfAJobIsAnActOfItsOwn(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	p := c.as(desk, mechanic).get(jobURL(j)).want(200)
	seen := map[string]string{}
	p.Find(`main form[method="post"]`).Each(func(_ int, f *goquery.Selection) {
		action, id := f.AttrOr("action", ""), f.Find("input[name=intent]").AttrOr("value", "")
		if other, twice := seen[id]; twice || id == "" {
			t.Errorf("the forms to %s and %s share the intent %q", action, other, id)
		}
		seen[id] = action
	})
	for _, want := range []string{"/start", "/move", "/assign", "/hold", "/cancel"} {
		if p.Find(`form[action="`+jobURL(j)+want+`"]`).Length() != 1 {
			t.Errorf("there is no form for %s", want)
		}
	}
}

func TestAJobGoesThroughTheShop(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b, m := c.as(desk), c.as(mechanic)
	at := jobURL(j)

	b.post(at+"/move", "stage", job.InQueue).wantTo(at + "?done=move")
	p := b.get(at+"?done=move").want(200).wantWords("#standing-part", "in the queue").wantWords(".told", "Moved on.")
	version := p.value("version")
	b.post(at+"/assign", "mechanic", fmt.Sprint(m.person.ID), "version", version).wantTo(at + "?done=assign")
	if got := b.get(at).Find(`select[name=mechanic] option[selected]`).Text(); got != m.person.Name {
		t.Errorf("it is given to %q, want %q", got, m.person.Name)
	}
	stale := b.post(at+"/assign", "mechanic", "0", "version", version).want(409)
	stale.wantWords(`[role="alert"]`, "Somebody else changed this")

	b.post(at+"/hold", "kind", job.WaitingOnParts, "tray", "4", "expected", "2026-10-15").wantTo(at + "?done=hold")
	p = b.get(at).want(200).wantWords("#standing-part", "waiting on parts").wantWords("#standing-part", "expected 15 October; parts in tray 4")
	hold := p.Find(`form[action="`+at+`/hold-end"] button`).AttrOr("value", "")
	b.post(at+"/hold-end", "hold", hold).wantTo(at + "?done=hold-end")
	if n := b.get(at).Find(".waits li").Length(); n != 0 {
		t.Errorf("it still waits %d times", n)
	}
}

func TestARefusedFormOfAJobKeepsItsInputAndLeavesTheOthersAlone(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(desk)
	at := jobURL(j)
	p := b.post(at+"/hold", "kind", job.WaitingOnParts, "tray", "shelf 2", "expected", "2020-01-01").want(422)
	if got := p.wrong("expected"); !strings.Contains(got, "past") {
		t.Errorf("beside the day stands %q", got)
	}
	if p.value("tray") != "shelf 2" || p.value("expected") != "2020-01-01" {
		t.Errorf("typed tray %q, day %q", p.value("tray"), p.value("expected"))
	}
	if id, ok := p.Find(`form[action="` + at + `/cancel"] [aria-invalid]`).Attr("id"); ok {
		t.Errorf("the field %q of another form is marked", id)
	}
	p = b.post(at+"/cancel", "ending", "left for scrap", "words", "").want(422)
	if got := p.wrong("words"); !strings.Contains(got, "written yes") {
		t.Errorf("beside the words stands %q", got)
	}
	if p.Find(`#cancel[open]`).Length() != 1 || p.Find(`input[value="left for scrap"][checked]`).Length() != 1 {
		t.Error("the form to end the job is closed, or its choice is lost")
	}
	b.get(at).wantWords("#standing-part", "dropped off")
}

func TestAPressTwiceIsOneAct(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(desk)
	intent := b.get(jobURL(j)).intent(jobURL(j) + "/move")
	for range 2 {
		b.post(jobURL(j)+"/move", "intent", intent, "stage", job.InQueue).wantTo(jobURL(j) + "?done=move")
	}
	if n := b.get(jobURL(j)).Find("#history-part tbody tr").Length(); n != 2 {
		t.Errorf("the history has %d lines, want 2: taken in and moved", n)
	}
}

func TestAnEndedJobSaysHowAndOffersNothingMore(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(desk)
	b.post(jobURL(j)+"/cancel", "ending", "returned undone", "words", "changed her mind").wantTo(jobURL(j) + "?done=cancel")
	p := b.get(jobURL(j)).want(200).wantWords("#standing-part", "cancelled today 14:12: returned undone").wantWords("#standing-part", "“changed her mind”")
	p.wantWords("#standing-part .caution", "whatever was wrong still is")
	if n := p.Find("main form").Length(); n != 0 {
		t.Errorf("an ended job has %d forms", n)
	}
	b.post(jobURL(j)+"/move", "stage", job.InQueue).want(409)
}
