package web

import (
	"context"
	"net/url"
	"testing"

	"damperdesk/internal/job"
)

func TestACodeLeadsToWhatItStandsFor(t *testing.T) {
	c := newFrontDesk(t)
	p := c.post("/drop-off", c.fields()...).want(303)
	visit := p.to
	link, _ := c.get(visit).want(200).Find(`a[href*="/c/"]`).Attr("href")
	rows, err := job.Board(context.Background(), c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 {
		t.Fatal(rows, err)
	}
	path, number := "/jobs/"+c.id(rows[0].ID), c.id(int64(rows[0].Number))
	for code, want := range map[string]string{
		number: path, "#" + number: path, "http://desk.test:8080/tickets/" + number: path,
		"httpÖ--desk.testÖ8080-tickets-" + number: path, // a scanner set to another keyboard
		link:       visit,
		"TL-20418": "/units/" + c.id(c.fork),
	} {
		c.get("/codes?code=" + url.QueryEscape(code)).wantTo(want)
		c.get("/find?q=" + url.QueryEscape(code)).wantTo(want)
	}
	c.get("/codes?code=99999").want(200).wantWords("h1", "Unknown code")
	c.get("/codes?code=99999").want(200).wantWords("[role=status]", "has the code “99999”.")
	c.get("/codes?code=odette").want(200).wantWords("[role=status]", "Nothing has exactly the code “odette”. This comes near:")
	c.get("/codes?code="+url.QueryEscape(link+"x")).want(200).wantWords("h1", "Unknown code")
}
