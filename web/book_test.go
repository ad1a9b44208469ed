package web

import (
	"fmt"
	"strings"
	"testing"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func customerURL(c counter) string { return fmt.Sprint("/customers/", c.customer) }

func TestACustomersPageHasTheirUnitsAndPast(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(desk)
	p := b.get(customerURL(c)).want(200).wantWords("h1", "Odette Marsh")
	p.wantWords(".rows", "Tindra Lode").wantWords(".rows", fmt.Sprint("here now, ticket ", j.Number)).wantWords("#history-part", "taken in")
	b.post(jobURL(j)+"/cancel", "ending", "returned undone").want(303)
	b.get(customerURL(c)).wantWords("[aria-labelledby=closed]", fmt.Sprint(j.Number, " Lower-leg service"))
	page404(b, "/customers/999999", "/customers/x", customerURL(c)+"?before=-1", customerURL(c)+"?closed=x")
}

func TestACustomersDetailsAreChangedOrKeptAsTyped(t *testing.T) {
	c := server(t).counter()
	b := c.as(desk)
	p := b.get(customerURL(c)).want(200)
	form := formOf(p, customer.DetailFields...)
	p = b.post(customerURL(c), changed(form, "name", "", "phone", "07700 900119")...).want(422)
	if p.wrong("name") == "" || p.value("phone") != "07700 900119" || p.value("name") != "" {
		t.Errorf("beside the name %q, phone %q, name %q", p.wrong("name"), p.value("phone"), p.value("name"))
	}
	b.post(customerURL(c), changed(form, "name", "Odette Marsh-Byrd", "phone", "07700 900119")...).wantTo(customerURL(c) + "?done=details")
	b.get(customerURL(c)+"?done=details").wantWords("h1", "Odette Marsh-Byrd").wantWords(".told", "kept")
	b.post(customerURL(c), changed(form, "name", "Somebody Else")...).want(409)
	c.as(mechanic).post(customerURL(c), "name", "x").want(403)
}

func TestAUnitsBookTellsItsLife(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(mechanic)
	at := fmt.Sprint("/units/", j.UnitID)
	b.get(at).want(200).wantWords("h1", "Tindra Lode").wantWords(".lead", "Odette Marsh").wantWords("#history-part", "taken in").
		wantWords(".head", fmt.Sprint("Here now, ticket ", j.Number))
	page404(b, "/units/999999")
}

func TestAUnitIsCorrectedOrKeptAsTyped(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(mechanic)
	at := fmt.Sprint("/units/", j.UnitID)
	p := b.get(at + "/change").want(200)
	was := p.value("was.model")
	long := strings.Repeat("7", 121)
	p = b.post(at+"/change", "was.model", was, "model", "0", "words", "", "serial", long, "colour", "violet").want(422)
	if p.wrong("model") == "" || p.wrong("serial") == "" || p.value("serial") != long || p.value("colour") != "violet" {
		t.Errorf("beside the model %q, beside the serial %q; kept %q and %q", p.wrong("model"), p.wrong("serial"), p.value("serial"), p.value("colour"))
	}
	b.post(at+"/change", "was.model", was, "model", "0", "words", "grey fork, no name", "serial", "Q 77-1", "colour", "violet", "bike", "tandem").
		wantTo(at + "?done=unit")
	b.get(at+"?done=unit").wantWords("h1", "grey fork, no name").wantWords(".told", "corrected").wantWords(".facts", "Q 77-1").wantWords(".facts", "violet tandem")
	b.get("/find?q=q771").want(303)
	b.post(at+"/change", "was.model", was, "model", "0", "words", "another").want(409)
	now := b.get(at + "/change").want(200).value("was.model")
	b.post(at+"/change", "was.model", now, "model", "0", "words", "library:12", "serial", "Q 77-1").want(303)
	b.get(at).want(200).wantWords("h1", "library:12")
}

// More happens than one page holds: the link goes on where the page ended, and
// no line is left out or shown twice.
func TestHistoryGoesBackPageByPage(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(desk)
	for range history.PageSize / 2 {
		b.post(jobURL(j)+"/hold", "kind", job.SentOut).want(303)
		hold := b.get(jobURL(j)).Find(".waits button").AttrOr("value", "")
		b.post(jobURL(j)+"/hold-end", "hold", hold).want(303)
	}
	lines, at := 0, jobURL(j)
	for range 3 {
		p := b.get(at).want(200)
		lines += p.Find("#history-part tbody tr").Length()
		next, more := p.Find("#history-part a.button").Attr("href")
		if !more {
			break
		}
		at = next
	}
	if want := history.PageSize + 1; lines != want {
		t.Errorf("the pages have %d lines, want %d", lines, want)
	}
}
