package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"damperdesk/internal/shop"
)

func TestAnOwnerPutsTermsInForce(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	draft := b.get("/shop/terms").want(http.StatusOK).wantWords(".caution", "no legal advice").Find("textarea").Text()
	p := b.post("/shop/terms", "over", "0", "words", draft).want(http.StatusUnprocessableEntity)
	if !strings.Contains(p.wrong("words"), "Fill in or take out [") || p.Find("textarea").Text() != draft {
		t.Errorf("the draft as it is: %q beside it, %q typed", p.wrong("words"), p.Find("textarea").Text())
	}
	intent := uuid.NewString()
	for range 2 { // a second press leads to the same place
		b.post("/shop/terms", "intent", intent, "over", "0", "words", "We look after it.\r\nFetch it within 30 days.").wantTo("/shop?done=terms")
	}
	b.get("/shop?done=terms").wantWords("[role=status]", "in force").wantWords(".settings", "edition 1, by "+b.person.Name+" on Tuesday 13 October")
	first, err := shop.CurrentTerms(context.Background(), s.pool)
	if err != nil || first.Words != "We look after it.\nFetch it within 30 days." {
		t.Fatalf("in force: %+v, %v", first, err)
	}
	p = b.get("/shop/terms").wantWords("h2", "In force")
	if p.Find("textarea").Text() != first.Words || p.Find("details").Length() != 0 {
		t.Errorf("a new edition begins with %q, and %d older ones", p.Find("textarea").Text(), p.Find("details").Length())
	}
	over := p.value("over")
	if same := b.post("/shop/terms", "over", over, "words", first.Words).want(http.StatusUnprocessableEntity); same.wrong("words") == "" {
		t.Error("the same words again are taken without a word")
	}
	b.post("/shop/terms", "over", over, "words", "Fetch it within 60 days.").wantTo("/shop?done=terms")
	late := b.post("/shop/terms", "over", over, "words", "Fetch it within 90 days.").want(http.StatusConflict)
	late.wantWords("[role=alert]", "Somebody else changed the terms").wantWords("textarea", "within 90 days")
	b.get("/shop/terms").wantWords("section .words", "within 60 days").wantWords("details", "Edition 1, by").wantWords("details .words", "within 30 days")
	if empty := b.post("/shop/terms", "over", "0", "words", " ").want(http.StatusUnprocessableEntity); empty.wrong("words") == "" {
		t.Error("empty terms are taken without a word")
	}
}
