package web

import (
	"context"
	"net/http"
	"testing"
)

func TestALostDatabaseIsToldInOneSentence(t *testing.T) {
	s := server(t)
	b := s.as(desk)
	s.pool.Close()
	b.get("/board").want(http.StatusInternalServerError).wantWords("main", "Something went wrong here.")
}

func TestPeopleWithoutAShopStillSetItUp(t *testing.T) {
	s := bareServer(t) // and somebody added by a command
	b := s.as(owner)
	b.get("/board").want(http.StatusOK)
	b.post("/setup", setupFields(s.setupCode())...).wantTo("/shop")
	b.get("/setup").want(http.StatusNotFound)
}

func TestBytesThatAreNoTextAreLeftOut(t *testing.T) {
	c := newFrontDesk(t)
	c.get("/find?q=Odette%00%ff").want(http.StatusOK).wantWords("main", "Odette Marsh")
	c.get("/drop-off/find?who=Odette%00%ff").want(http.StatusOK)
	c.post("/drop-off", c.fields("unit0.complaint", "gro\x00ans\xff")...).want(http.StatusSeeOther)
	var words string
	if err := c.pool.QueryRow(context.Background(), "select complaint from job_words").Scan(&words); err != nil || words != "groans" {
		t.Errorf("the complaint is kept as %q, %v; want groans", words, err)
	}
}
