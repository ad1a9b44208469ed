package web

import (
	"net/http"
	"strings"
	"testing"
	"time"
)

const newEyelets = "New eyelet bushes pressed in, bolts at 8 N·m by the maker's manual, page 12."

// The lines of the sheet and its caution: common practice (no source).
func TestARearShockKnownOnlyByWordsGoesThroughTheShop(t *testing.T) {
	c := newFrontDesk(t)
	shock := []string{"unit0.unit", "new", "unit0.kind", "rear shock", "unit0.words", "grey shock, no label",
		"unit0.complaint", "knocks at the eyelet"}
	lowers := c.post("/drop-off", c.fields(append(shock, "unit0.services", "lower-leg")...)...).want(http.StatusUnprocessableEntity)
	if got := lowers.wrong("unit0.services"); !strings.Contains(got, "“Lower-leg service” is not for a rear shock") {
		t.Errorf("its lower legs: %q", got)
	}
	lowers.wantWords("#content", "Other work, in own words")
	visit := c.get(c.post("/drop-off", c.fields(append(shock, "unit0.services", "other")...)...).want(http.StatusSeeOther).to)
	jobPath := visit.Find(`#content a[href^="/jobs/"]`).First().AttrOr("href", "")
	jobPath = strings.TrimSuffix(jobPath, "/ticket")

	b := c.site.as(mechanic)
	sheet := b.post(jobPath + "/start").want(http.StatusSeeOther).to
	at := b.get(sheet).want(http.StatusOK).Find(".links a.main").AttrOr("href", "")
	h := hand{words: newEyelets}
	wordless := 0
	for strings.Contains(at, "/steps/") {
		p := b.get(at).want(http.StatusOK)
		if p.Find(".spec [data-wait]").Length() > 0 {
			c.site.pass(15 * time.Minute)
		}
		form := p.Find("main form").First()
		action := form.AttrOr("action", "")
		if h.screens > 20 {
			t.Fatalf("the walk does not end; it is at %s", action)
		}
		if form.Find(`[name="words"]`).Length() == 1 {
			wordless++
			p.wantWords(".caution", "A rear shock is pressurised.").wantWords(".caution", "The maker’s manual governs.")
			p.wantWords(".caution", "normally goes to a specialist")
			b.post(action).want(http.StatusUnprocessableEntity).wantWords("#f-words-error", "Write what was done.")
		}
		at = b.send(http.MethodPost, action, h.fill(form, "9")).want(http.StatusSeeOther).to
	}
	if wordless != 1 {
		t.Errorf("%d steps ask for words, want 1", wordless)
	}
	p := b.get(sheet).wantWords(".sheet", newEyelets).wantWords(".sheet", "safe to ride")
	b.post(sheet+"/ready", "intent", p.intent(sheet+"/ready")).wantTo(sheet)
	c.get(jobPath).want(http.StatusOK).wantWords("#content", newEyelets)
	link := strings.TrimPrefix(visit.Find("#content a[href*='/c/']").AttrOr("href", ""), c.url)
	page := c.site.anybody().get(link).want(http.StatusOK)
	page.wantWords(".measured", newEyelets).wantWords(".card", "9").wantWords("#content", "rear shock is ready")
	c.post(jobPath+"/hand-over", "how", "picked up", "takenby", "the rider").want(http.StatusSeeOther)
	c.get(jobPath).wantWords("#content", "picked up")
}
