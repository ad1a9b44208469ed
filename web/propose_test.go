package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"damperdesk/templates"
)

// sends is what the form of the list sends with the button of those words.
func (p *page) sends(button string) url.Values {
	v := url.Values{}
	p.Find(`#due input[type="hidden"], #due input[checked]`).Each(func(_ int, in *goquery.Selection) {
		v.Add(in.AttrOr("name", ""), in.AttrOr("value", ""))
	})
	p.Find(`button[form="due"][name="view"], #due button[name="view"]`).Each(func(_ int, b *goquery.Selection) {
		if b.Text() == button {
			v.Set("view", b.AttrOr("value", ""))
		}
	})
	return v
}

// views presses a button of the list with the ticks as they are given.
func (b *browser) views(p *page, button string, change func(v url.Values)) *page {
	b.t.Helper()
	v := p.sends(button)
	if !v.Has("view") {
		b.t.Fatalf("there is no button %q", button)
	}
	if change != nil {
		change(v)
	}
	return b.get(b.get("/due?" + v.Encode()).want(http.StatusSeeOther).to).want(http.StatusOK)
}

func (p *page) ticked() (keys []string) {
	p.Find(`.dues input[checked]`).Each(func(_ int, in *goquery.Selection) { keys = append(keys, in.AttrOr("value", "")) })
	return keys
}

// The proposal is made of the whole list in its order, wherever its rows stand; of
// five riders four want mail, so that a hundred of them reach to the 125th row.
func TestTheProposalIsOfTheWholeList(t *testing.T) {
	c := manyDue(t, 250)
	b := c.as(owner)
	p := b.get("/due").want(http.StatusOK)
	n := len(p.sends("More")["invite"])
	if first := len(p.ticked()); first != 80 || n <= first || n > 100 {
		t.Fatalf("%d are ticked on the first page of %d proposed; want 80 of more than these and at most 100", first, n)
	}
	p.wantWords(".lead", fmt.Sprintf("Inviting the %d ticked", n)).wantWords(".lead", fmt.Sprintf("not on this page: %d.", n-80))
	second := b.views(p, "More", nil)
	if got := len(second.ticked()); got != n-80 || second.words(".lead") == "" {
		t.Errorf("%d are ticked on the second page, want the other %d", got, n-80)
	}
	all := b.get("/due/invite?" + url.Values{"invite": p.sends("More")["invite"]}.Encode()).want(http.StatusOK)
	if got := all.Find(`input[name="invite"][checked]`).Length(); got != n {
		t.Errorf("%d are shown before anything is sent, want all %d", got, n)
	}
	// said by hand, over two pages
	p = b.get("/due?most=90").want(http.StatusOK)
	if got := len(p.sends("More")["invite"]); got != 90 {
		t.Errorf("%d are proposed, want 90", got)
	}
	if got := b.views(p, "More", nil); len(got.ticked()) != 10 || got.value("most") != "90" {
		t.Errorf("on the second page %d are ticked of %q, want 10 of 90", len(got.ticked()), got.value("most"))
	}
}

// Ticks that somebody changed stay from page to page and from filter to filter, and
// are there again after the look at whom to invite.
func TestTicksChangedByHandStay(t *testing.T) {
	c := manyDue(t, 250)
	b, units := c.as(desk), c.dueUnits()
	key := func(i int) string { return fmt.Sprint(units[i], ":lower-leg") }
	p := b.get("/due?most=3").want(http.StatusOK)
	if got := p.ticked(); len(got) != 3 {
		t.Fatalf("ticked: %v", got)
	}
	p = b.views(p, "More", func(v url.Values) { v["invite"] = []string{key(4), key(7)} })
	if p.ticked() != nil {
		t.Errorf("ticked on the second page: %v", p.ticked())
	}
	p.wantWords(".lead", "not on this page: 2.")
	p = b.views(p, "dearest first", func(v url.Values) { v.Add("invite", key(130)) })
	if got := p.ticked(); !slices.Equal(got, []string{key(4), key(7)}) {
		t.Errorf("ticked in another order: %v", got)
	}
	p = b.views(p, "overdue 20", nil)
	if got := p.sends("More")["invite"]; len(got) != 3 || !slices.Contains(got, key(130)) {
		t.Errorf("the form carries %v", got)
	}
	i := b.get("/due/invite?"+url.Values{"invite": p.sends("More")["invite"]}.Encode()).want(http.StatusOK).wantWords("h1", "Invite 3 customers")
	back := i.Find(`a.button[href^="/due?"]`).AttrOr("href", "")
	if got := b.get(back).want(http.StatusOK).ticked(); len(got) != 2 {
		t.Errorf("back at the list are ticked %v", got)
	}
	p = b.views(p, "all 250", func(v url.Values) { v.Del("invite") })
	if p.wantWords(".lead", "Nobody is ticked."); p.ticked() != nil {
		t.Errorf("all were unticked; ticked are %v", p.ticked())
	}
}

// The list stands as it is asked to, and says so to whoever cannot see it.
func TestTheDueListIsSorted(t *testing.T) {
	c := manyDue(t, 30)
	b := c.as(owner)
	for sort, words := range map[string]string{"": "most due first", "surest": "surest first", "worth": "dearest first", "customer": "by customer"} {
		p := b.get("/due?sort="+sort).want(http.StatusOK).wantWords(".dues caption", words)
		p.wantWords(".dues tbody tr:first-child", "Rider 001")
		if got := p.words(".filters p:last-child [aria-current]"); got != words || p.Find(".dues thead [aria-sort]").Length() != 1 {
			t.Errorf("sorted by %q: marked is %q", sort, got)
		}
	}
	if _, err := c.pool.Exec(t.Context(), "update customer set name = 'Aldous Ferrier', name_key = 'aldous ferrier' where name = 'Rider 017'"); err != nil {
		t.Fatal(err)
	}
	b.get("/due?sort=customer").want(http.StatusOK).wantWords(".dues tbody tr:first-child", "Aldous Ferrier")
}

func TestTheDueListIsAskedForWhatItHasNot(t *testing.T) {
	c := manyDue(t, 3)
	b := c.as(desk)
	page404(b, "/due?state=late", "/due?sort=colour", "/due?service=polish", "/due?page=-1", "/due?view=state%3Dlate", "/due?view=%25zz", "/due/invite", "/due/invite?invite=x", "/due/invite?invite=99999:lower-leg")
	b.get("/due?ticked=yes&invite=x&invite=1:&invite=:lower-leg&invite=99999999999999999999:full").want(http.StatusOK).wantWords(".lead", "Nobody is ticked.")
	b.get("/due?page=7&sort=worth").want(http.StatusOK).wantWords(".dues tbody tr", "Rider 001")
	for _, most := range []string{"0", "-3", "101", "many"} {
		if p := b.get("/due?most=" + most).want(http.StatusOK); p.wrong("most") == "" || p.value("most") != most {
			t.Errorf("%q: beside the field stands %q, in it %q", most, p.wrong("most"), p.value("most"))
		}
	}
}

// Whoever ticks everybody is told that it is too many, for the bench and for one
// press; whoever ticks nobody, that nobody is.
func TestEverybodyAndNobodyTicked(t *testing.T) {
	c := manyDue(t, 250)
	b, all := c.as(owner), []string(nil)
	for _, unit := range c.dueUnits() {
		all = append(all, templates.UnitService(unit, "lower-leg"))
	}
	b.get("/due?"+url.Values{"ticked": {"yes"}, "invite": all}.Encode()).want(http.StatusOK).
		wantWords(".why", "floods the bench").wantWords(".lead", "Untick 150.")
	i := b.get("/due/invite?"+url.Values{"invite": all}.Encode()).want(http.StatusOK).wantWords(".head", "floods the bench").wantWords(".head", "untick 150")
	var fields []string
	i.Find(`form.first input[name="shown"]`).Each(func(_ int, in *goquery.Selection) { fields = append(fields, "shown", in.AttrOr("value", "")) })
	nobody := b.post("/due/invite", fields...).want(http.StatusConflict).wantWords(".problem", "Tick somebody")
	if n := nobody.Find(`input[name="invite"]`).Length(); n != 250 || nobody.Find(`input[name="invite"][checked]`).Length() != 0 {
		t.Errorf("after nobody was ticked %d can be", n)
	}
	for _, key := range all {
		fields = append(fields, "invite", key)
	}
	if n := b.post("/due/invite", fields...).want(http.StatusConflict).wantWords(".problem", "at most 100").Find(`input[name="invite"][checked]`).Length(); n != 250 {
		t.Errorf("%d are still ticked, want all 250", n)
	}
	if n := c.count("select count(*) from message"); n != 0 {
		t.Errorf("%d messages were posted", n)
	}
}

// Two people invite the same riders: the second is told how many were invited
// already, before the press and after it.
func TestTwoInviteTheSameRiders(t *testing.T) {
	c := manyDue(t, 20)
	b, second, fields := c.as(desk), c.as(owner), []string(nil)
	for _, unit := range c.dueUnits()[:4] {
		fields = append(fields, "invite", templates.UnitService(unit, "lower-leg"))
	}
	at := "/due/invite?invite=" + strings.Join([]string{fields[1], fields[3], fields[5]}, "&invite=")
	b.post("/due/invite", fields[:4]...).wantTo("/due?done=invited&mails=2&rung=0")
	second.get(at).want(http.StatusOK).wantWords("h1", "Invite 1 customer").wantWords(".lead", "Invited before, and not again: 2.")
	p := second.post("/due/invite", fields...).wantTo("/due?done=invited&mails=2&rung=0&before=2")
	second.get(p.to).want(http.StatusOK).wantWords(".told", "Invitations on their way: 2.").wantWords(".told", "Invited before, and not again: 2.")
	second.get(at).want(http.StatusOK).wantWords(".lead", "All of them were invited before.")
}
