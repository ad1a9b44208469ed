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
	c.post("/drop-off/draft/throw", "draft", id).want(303)
	if c.get("/drop-off").want(200).Find(".drafts").Length() != 0 {
		t.Error("it is still listed")
	}
	c.as(mechanic).post("/drop-off/draft", "draft", id).want(http.StatusForbidden)
}
