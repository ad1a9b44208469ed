package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"damperdesk/internal/job"
)

func TestHalfFilledDropOffIsKeptAndListedForEverybodyAtTheDesk(t *testing.T) {
	c := newFrontDesk(t)
	const id, act = "7c9e6679-7425-40de-944b-e07fc1f90ae7", "6ba7b811-9dad-11d1-80b4-00c04fd430c8"
	typed := func(changes ...string) []string {
		return append(c.fields(append([]string{"draft", id, "unit0.complaint", "like gravel", "unit0.ask.sticky.when", "always"}, changes...)...), "intent", act)
	}
	c.post("/drop-off/draft", typed()...).want(http.StatusNoContent)
	c.post("/drop-off/draft", typed("unit0.complaint", "like gravel\x00 and sand")...).want(http.StatusNoContent)
	p := c.as(desk).get("/drop-off").want(200)
	p.wantWords(".drafts", "Odette Marsh kept today")
	if p.Find("main h1").Length() != 1 || p.Find(".head:has(h1) ~ .drafts").Length() != 1 {
		t.Error("the list of what is half filled does not stand below the heading")
	}
	p = c.as(desk).get("/drop-off?draft=" + id).want(200)
	if got := p.words(`[name="unit0.complaint"]`); got != "like gravel and sand" {
		t.Errorf("complaint %q", got)
	}
	if p.value("draft") != id || p.Find(`[name="unit0.unit"][value="`+c.id(c.fork)+`"][checked]`).Length() != 1 ||
		p.Find(`[name="unit0.ask.sticky.when"] option[selected]`).AttrOr("value", "") != "always" {
		t.Error("what was typed is not back")
	}
	if p.value("intent") == act {
		t.Error("the act of another page is on this one")
	}
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 0 {
		t.Errorf("the board has %+v, %v: a draft is no job", rows, err)
	}
	c.post("/drop-off", typed()...).want(303)
	c.post("/drop-off/draft", typed()...).want(http.StatusNoContent)
	if p = c.get("/drop-off").want(200); p.Find(".drafts").Length() != 0 {
		t.Error("what was taken in is listed as a draft, by a script that came late")
	}
	c.get("/drop-off?draft="+id).want(200).wantWords("main", "That draft is gone")
}

func TestDraftIsKeptByTheButtonAndThrownAway(t *testing.T) {
	c := newFrontDesk(t)
	const id = "7c9e6679-7425-40de-944b-e07fc1f90ae7"
	p := c.post("/drop-off", "press", "draft", "draft", id, "units", "1", "who", "somebody in a hurry", "limit", "a lot").want(303)
	if !strings.Contains(p.to, "draft="+id) {
		t.Fatalf("leads to %q", p.to)
	}
	p = c.get(p.to).want(200)
	p.wantWords("main", "Kept as a draft.")
	if p.value("limit") != "a lot" || p.value("who") != "somebody in a hurry" {
		t.Errorf("limit %q, who %q", p.value("limit"), p.value("who"))
	}
	c.get("/drop-off").want(200).wantWords(".drafts", "somebody in a hurry")
	c.post("/drop-off/draft", "draft", id, "version", "1", "units", "1", "who", "somebody in a hurry", "limit", "£90").want(http.StatusNoContent)
	c.post("/drop-off/draft/throw", "draft", id, "version", "1").want(http.StatusConflict) // somebody typed more into it
	c.post("/drop-off/draft/throw", "draft", id, "version", "2").want(303)
	if c.get("/drop-off").want(200).Find(".drafts").Length() != 0 {
		t.Error("it is still listed")
	}
	c.as(mechanic).post("/drop-off/draft", "draft", id).want(http.StatusForbidden)
}

// Two desks have one draft open. Each is a hand: its own opening of the form.
func TestTwoDesksInOneDraftBothKeepTheirWords(t *testing.T) {
	c := newFrontDesk(t)
	other := frontDesk{browser: c.site.as(desk), customer: c.customer, fork: c.fork}
	const id, mine, theirs = "7c9e6679-7425-40de-944b-e07fc1f90ae7", "11111111-7425-40de-944b-e07fc1f90ae7", "22222222-7425-40de-944b-e07fc1f90ae7"
	typed := func(hand, version, complaint string, changes ...string) []string {
		return c.fields(append([]string{"draft", id, "hand", hand, "version", version, "unit0.complaint", complaint}, changes...)...)
	}
	c.post("/drop-off/draft", typed(mine, "0", "like gravel")...).want(http.StatusNoContent)
	if p := other.get("/drop-off?draft=" + id).want(200); p.value("version") != "1" || p.Find(`form[data-last="`+mine+`"]`).Length() != 1 {
		t.Errorf("opened at version %q, want 1, kept last by the first hand", p.value("version"))
	}
	other.post("/drop-off/draft", typed(theirs, "1", "like gravel when cold")...).want(http.StatusNoContent)
	other.post("/drop-off/draft", typed(theirs, "1", "like gravel when warm", "unit0.hangs", "hook 3")...).want(http.StatusNoContent)

	p := c.post("/drop-off/draft", typed(mine, "0", "like sand", "unit0.unit", "new")...).want(http.StatusOK)
	p.wantWords("tr:has(th:contains(Unit))", "another unitTindra Lode")
	p.wantWords("section", other.person.Name+" kept it too")
	p.wantWords("tr:has(th:contains(rider))", "like sandlike gravel when warm")
	p.wantWords("tr:has(th:contains(Hangs))", "nonehook 3")
	own := p.Find("[data-apart]").AttrOr("data-apart", "")
	if again := c.post("/drop-off/draft", typed(mine, "0", "like sand and salt")...).want(http.StatusOK); again.Find("[data-apart]").AttrOr("data-apart", "") != own {
		t.Error("the same hand is kept apart twice")
	}
	c.post("/drop-off/draft", typed(mine, "0", "like salt", "draft", own, "told", id)...).want(http.StatusNoContent)
	c.get("/drop-off?draft="+id).want(200).wantWords(`[name="unit0.complaint"]`, "like gravel when warm")
	p = c.get("/drop-off?draft=" + own).want(200)
	p.wantWords(`[name="unit0.complaint"]`, "like salt")
	p.wantWords("#apart", "Open theirs")

	// Taking one in leaves the other.
	c.post("/drop-off", typed(mine, "0", "like salt", "draft", own)...).want(303)
	c.get("/drop-off?draft="+own).want(200).wantWords("main", "That draft is gone")
	c.get("/drop-off?draft="+id).want(200).wantWords(`[name="unit0.complaint"]`, "like gravel when warm")
}

// The first desk keeps on; the second goes on with what it opened before, and is
// kept apart. Both are told.
func TestTheFirstDeskIsToldWhenASecondGoesOnWithItsDraft(t *testing.T) {
	c := newFrontDesk(t)
	other := frontDesk{browser: c.site.as(desk), customer: c.customer, fork: c.fork}
	const id, mine, theirs = "7c9e6679-7425-40de-944b-e07fc1f90ae7", "11111111-7425-40de-944b-e07fc1f90ae7", "22222222-7425-40de-944b-e07fc1f90ae7"
	keep := func(of frontDesk, hand, version, left string, changes ...string) *page {
		return of.post("/drop-off/draft", c.fields(append([]string{"draft", id, "hand", hand, "version", version, "left", left}, changes...)...)...)
	}
	keep(c, mine, "0", "lamp").want(http.StatusNoContent)
	keep(c, mine, "0", "lamp, bell").want(http.StatusNoContent)
	apart := keep(other, theirs, "1", "pump").want(http.StatusOK).Find("[data-apart]").AttrOr("data-apart", "")

	p := keep(c, mine, "0", "lamp, bell, lock").want(http.StatusOK)
	p.wantWords("h2", other.person.Name+" goes on with this one")
	p.wantWords("tr:has(th:contains(Left))", "lamp, bell, lockpump")
	if told := p.Find("[data-apart]"); told.AttrOr("data-apart", "") != id || told.AttrOr("data-theirs", "") != apart {
		t.Errorf("the first desk has %s now and is told of %s, want its own draft and %s", told.AttrOr("data-apart", ""), told.AttrOr("data-theirs", ""), apart)
	}
	keep(c, mine, "0", "lamp, lock", "told", apart).want(http.StatusNoContent) // told once

	p = c.get("/drop-off?draft=" + id).want(200)
	p.wantWords("#apart", other.person.Name+" goes on with this one")
	if p.value("told") != apart || p.value("left") != "lamp, lock" {
		t.Errorf("the page tells of %q and has %q", p.value("told"), p.value("left"))
	}
	other.get("/drop-off?draft="+apart).want(200).wantWords("#apart", "Two typed in this one")
}

func TestTakingInAnOldFormLeavesWhatSomebodyElseTyped(t *testing.T) {
	c := newFrontDesk(t)
	const id = "7c9e6679-7425-40de-944b-e07fc1f90ae7"
	const mine, theirs = "11111111-7425-40de-944b-e07fc1f90ae7", "22222222-7425-40de-944b-e07fc1f90ae7"
	c.post("/drop-off/draft", c.fields("draft", id, "hand", mine)...).want(http.StatusNoContent)
	c.post("/drop-off/draft", c.fields("draft", id, "hand", theirs, "version", "1", "left", "lamp")...).want(http.StatusNoContent)
	c.post("/drop-off", c.fields("draft", id, "hand", mine)...).want(303)
	if p := c.get("/drop-off?draft=" + id).want(200); p.value("left") != "lamp" {
		t.Error("what the other desk typed went with the form of the first")
	}
}

func TestTheButtonKeepsApartWhatTwoTyped(t *testing.T) {
	c := newFrontDesk(t)
	const id, theirs = "7c9e6679-7425-40de-944b-e07fc1f90ae7", "22222222-7425-40de-944b-e07fc1f90ae7"
	first := c.shotAt("unit0", "press", "draft", "draft", id).want(303)
	if !strings.Contains(first.to, id) {
		t.Fatalf("leads to %q", first.to)
	}
	taken := c.get(first.to).want(200).Find(`[name="unit0.picture"]`).AttrOr("value", "")
	c.post("/drop-off/draft", c.fields("draft", id, "hand", theirs, "version", "1", "unit0.picture", taken)...).want(http.StatusNoContent)
	p := c.post("/drop-off", c.fields("draft", id, "press", "draft", "unit0.picture", taken)...).want(303)
	if strings.Contains(p.to, id) {
		t.Fatalf("leads to %q, want a draft of its own", p.to)
	}
	p = c.get(p.to).want(200)
	p.wantWords("#apart", "Both stay")
	thumb := p.Find("#units .thumbs img").AttrOr("src", "")
	c.post("/drop-off/draft/throw", "draft", id, "version", "2").want(303)
	c.get(thumb).want(200) // it is in the other one too
}

// A third desk opens what was kept apart, and is kept apart from that.
func TestPicturesStayWithADraftThatIsTwiceApart(t *testing.T) {
	c := newFrontDesk(t)
	const first, second, third = "11111111-7425-40de-944b-e07fc1f90ae7", "22222222-7425-40de-944b-e07fc1f90ae7", "33333333-7425-40de-944b-e07fc1f90ae7"
	taken := c.get(c.shotAt("unit0", "press", "draft", "hand", first).want(303).to).want(200).Find(`[name="unit0.picture"]`).AttrOr("value", "")
	keep := func(draft, hand, version string) *page {
		return c.post("/drop-off/draft", c.fields("draft", draft, "hand", hand, "version", version, "unit0.picture", taken, "told", arrivingForm)...)
	}
	apart := func(p *page) string { return p.want(200).Find("[data-apart]").AttrOr("data-apart", "") }
	keep(arrivingForm, second, "1").want(http.StatusNoContent)
	once := apart(keep(arrivingForm, first, "0"))
	keep(once, second, "1").want(http.StatusNoContent)
	twice := apart(keep(once, third, "1"))
	thumb := c.get("/drop-off?draft="+twice).want(200).Find("#units .thumbs img").AttrOr("src", "")
	c.post("/drop-off/draft/throw", "draft", arrivingForm, "version", "2").want(303)
	c.post("/drop-off/draft/throw", "draft", once, "version", "2").want(303)
	c.get(thumb).want(200)
	c.post("/drop-off", c.fields("draft", twice, "hand", third, "unit0.picture", taken)...).want(303)
	if n := len(c.picturesOf(c.jobs()[0].ID)); n != 1 {
		t.Errorf("the job has %d pictures, want the one that was taken", n)
	}
}

// A form that was kept apart was opened at a version of another draft: that its
// own came to the same number says nothing.
func TestAFormKeptApartTakesNoWordsAwayByItsOldVersion(t *testing.T) {
	c := newFrontDesk(t)
	const id = "7c9e6679-7425-40de-944b-e07fc1f90ae7"
	const mine, theirs = "11111111-7425-40de-944b-e07fc1f90ae7", "22222222-7425-40de-944b-e07fc1f90ae7"
	keep := func(draft, hand, version, left string) *page {
		return c.post("/drop-off/draft", c.fields("draft", draft, "hand", hand, "version", version, "left", left)...)
	}
	keep(id, theirs, "0", "lamp").want(http.StatusNoContent)
	keep(id, theirs, "0", "lamp, bell").want(http.StatusNoContent) // version 2
	bad := []string{"draft", id, "hand", mine, "version", "1", "left", "pump", "press", "draft"}
	files := []attached{{"unit0.file", []byte("no picture")}} // so that the form comes back
	p := c.postFiles("/drop-off", files, c.fields(bad...)...).want(http.StatusUnprocessableEntity)
	holds := func(name string) string {
		return p.Find(`form[data-draft] [name="`+name+`"]`).AttrOr("value", "")
	}
	if holds("draft") == id || holds("version") != "0" {
		t.Errorf("the form comes back as %s at version %s, want a draft of its own at none", holds("draft"), holds("version"))
	}
}

// A form that two desks have open becomes one visit: the second desk learns that
// it is taken in as it types on, and says so where it means another one.
func TestTheSecondDeskIsToldThatTheFormIsTakenIn(t *testing.T) {
	c := newFrontDesk(t)
	other := frontDesk{browser: c.site.as(desk), customer: c.customer, fork: c.fork}
	const id, mine, theirs = "7c9e6679-7425-40de-944b-e07fc1f90ae7", "11111111-7425-40de-944b-e07fc1f90ae7", "22222222-7425-40de-944b-e07fc1f90ae7"
	typed := func(hand string, changes ...string) []string {
		return c.fields(append([]string{"draft", id, "hand", hand, "unit0.unit", "new", "unit0.kind", "fork", "unit0.words", "an old fork"}, changes...)...)
	}
	c.post("/drop-off/draft", typed(mine)...).want(http.StatusNoContent)
	visit := other.post("/drop-off", typed(theirs, "version", "1")...).want(303).to

	p := c.post("/drop-off/draft", typed(mine, "left", "lamp")...).want(http.StatusOK)
	p.wantWords("#taken-head", other.person.Name+" took this one in")
	if to := p.Find("[data-apart] a").AttrOr("href", ""); to != visit {
		t.Errorf("the first desk is led to %q, want %q", to, visit)
	}
	told := p.Find("[data-apart]").AttrOr("data-theirs", "")
	c.post("/drop-off/draft", typed(mine, "left", "lamp, bell", "told", told)...).want(http.StatusNoContent)
	if p := c.get("/drop-off?draft=" + id).want(200); p.value("left") != "lamp, bell" || p.value("told") != told {
		t.Errorf("left with it is %q and told is %q", p.value("left"), p.value("told"))
	}

	p = c.post("/drop-off", typed(mine, "left", "lamp, bell")...)
	if said := p.wrong("another"); !strings.Contains(said, other.person.Name+" took it in as") || p.value("left") != "lamp, bell" {
		t.Errorf("asked is %q, and left with it is %q", said, p.value("left"))
	}
	again := c.post("/drop-off", typed(mine, "left", "lamp, bell", "another", "yes")...).want(303).to
	if again == visit {
		t.Error("another one is the same visit")
	}
	c.get("/drop-off?draft="+id).want(200).wantWords("main", "That draft is gone")
}
