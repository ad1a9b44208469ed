package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bench"
	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestTheCardHasTheSettingsAsTheyLeft(t *testing.T) {
	c := newLinked(t)
	b := c.anybody()
	if n := b.get(c.visit).want(http.StatusOK).Find(`a[href="` + c.visit + `/card"]`).Length(); n == 0 {
		t.Error("nothing leads to the card")
	}
	card := b.get(c.visit+"/card").want(http.StatusOK).wantWords("main", "Halvard Sill")
	for _, s := range c.benchSheet(c.job).Settings() {
		if s.Returned != nil && s.Returned.Outcome == bench.OutcomeDone && s.Returned.ValueSI != nil && !strings.Contains(card.words("main"), "psi") {
			t.Errorf("the card does not say %q in the shop's unit: %q", s.Key, card.words("main"))
		}
	}
	b.post(c.visit+"/way", "form", "reads", "version", "0", "pressure", "bar", "decimals", "comma").want(http.StatusSeeOther)
	if words := b.get(c.visit + "/card").words("main"); !strings.Contains(words, "bar") || strings.Contains(words, "psi") {
		t.Errorf("the card is not in the unit that was chosen: %q", words)
	}
}

func TestTheBookIsReadAsItsCustomerReads(t *testing.T) {
	c := newLinked(t)
	b := c.anybody()
	c.as(desk).post(jobURL(c.job)+"/hand-over", "how", job.PickedUp).want(http.StatusSeeOther)
	was := b.get(c.book).want(http.StatusOK).wantWords("#content", "13 October 2027").words("#content")
	if !strings.Contains(was, "psi") {
		t.Fatalf("no pressure is in the book: %s", was)
	}
	b.post(c.visit+"/way", "form", "reads", "version", "0", "pressure", "bar", "decimals", "comma", "days", "month day").want(http.StatusSeeOther)
	is := b.get(c.book).wantWords("#content", "October 13, 2027").wantWords("#content", "bar").words("#content")
	if strings.Contains(is, "psi") || strings.Contains(is, "13 October") {
		t.Errorf("the book is read as %s", is)
	}
	// Whoever has the unit now reads in their own way.
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		next, err := customer.Add(ctx, tx, by(), customer.Details{Name: "Bram Sedge", Phone: "07700 900 121"})
		if err != nil {
			return err
		}
		_, err = tx.Exec(ctx, "update unit set customer_id = $1 where id = $2", next, c.job.UnitID)
		return err
	}, desk)
	b.get(c.book).wantWords("#content", "13 October 2027").wantWords("#content", "psi")
}

func TestACustomerChoosesHowToRead(t *testing.T) {
	c := newLinked(t)
	b, way := c.anybody(), c.visit+"/way"
	bad := b.post(way, "form", "reads", "version", "0", "pressure", "atm", "days", "month day").want(http.StatusUnprocessableEntity)
	if bad.wrong("pressure") == "" || bad.Find(`[name=days] [selected]`).AttrOr("value", "") != "month day" {
		t.Errorf("beside the unit it says %q, and %q is kept", bad.wrong("pressure"), bad.Find(`[name=days] [selected]`).AttrOr("value", ""))
	}
	if bad.Find("details[open] form[action='"+way+"']").Length() != 1 {
		t.Error("the form with the mistake is folded")
	}
	page := b.get(c.visit).wantWords("main", "psi")
	sent := []string{"form", "reads", "version", "0", "pressure", "bar", "days", "month day", "clock", "12", "decimals", "comma", "intent", page.intent(way)}
	for range 2 { // and the same press once more
		b.post(way, sent...).wantTo(c.visit + "?done=way")
	}
	var rows, events int
	if err := c.pool.QueryRow(context.Background(), `select (select count(*) from customer_way), (select count(*) from event where kind = 'way of reading chosen')`).Scan(&rows, &events); err != nil || rows != 1 || events != 1 {
		t.Errorf("%d rows and %d events, %v; want one of each", rows, events, err)
	}
	page = b.get(c.visit).want(http.StatusOK).wantWords("main", "October 13").wantWords("main", "bar").wantWords("main", "pm")
	if strings.Contains(page.words("main .measured"), "psi") {
		t.Error("what was measured is in the shop's unit still")
	}
	b.post(way, "form", "reads", "version", "0", "pressure", "kPa").want(http.StatusConflict)
	b.post("/c/"+strings.Repeat("x", 43)+"/way", "form", "reads", "version", "0").want(http.StatusNotFound)
}

// Customers say it at the counter too: the desk keeps the same, and their page has it.
func TestTheDeskKeepsHowACustomerReads(t *testing.T) {
	c := newLinked(t)
	at := customerPath(c.customer, "")
	way, b := at+"/way", c.as(desk)
	form := b.get(at).want(http.StatusOK).Find("form[action='" + way + "']")
	theirs := c.anybody().get(c.visit).Find("form[action='" + c.visit + "/way']")
	if words := func(s *goquery.Selection) string { return strings.Join(strings.Fields(s.Text()), " ") }; words(form) != words(theirs) || words(form) == "" {
		t.Errorf("the desk is asked %q, the customer %q", words(form), words(theirs))
	}
	bad := b.post(way, "form", "reads", "version", "0", "pressure", "atm", "days", "month day").want(http.StatusUnprocessableEntity)
	if bad.wrong("pressure") == "" || bad.Find(`[name=days] [selected]`).AttrOr("value", "") != "month day" || bad.Find("details[open] form[action='"+way+"']").Length() != 1 {
		t.Errorf("beside the unit it says %q", bad.wrong("pressure"))
	}
	if bad.value("name") == "" || bad.Find("form[action='"+at+"'] [name=name][aria-invalid]").Length() != 0 {
		t.Error("the details beside it are not as they were")
	}
	c.as(mechanic).post(way, "form", "reads", "version", "0").want(http.StatusForbidden)
	b.post(way, "form", "reads", "version", "0", "pressure", "bar", "clock", "12", "decimals", "comma").wantTo(at + "?done=way")
	b.get(at+"?done=way").wantWords("[role=status]", "how they read what we write")
	c.anybody().get(c.visit).wantWords("main", "bar").wantWords("main", "pm")
	b.get(visitPath(c.job.VisitID)).want(http.StatusOK) // the shop reads its own way still
	c.as(owner).post(way, "form", "reads", "version", "0", "pressure", "kPa").want(http.StatusConflict)
	c.as(owner).post(way, "form", "reads", "version", "1", "pressure", "").wantTo(at + "?done=way")
	b.post("/customers/9999/way", "form", "reads", "version", "0").want(http.StatusNotFound)
}
