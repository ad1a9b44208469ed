package web

import (
	"context"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
)

func TestFindLeadsToCustomersAndTickets(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(mechanic)
	find := func(text string) *page { return b.get("/find?q=" + url.QueryEscape(text)) }

	find(fmt.Sprint(j.Number)).wantTo(jobURL(j))
	for _, text := range []string{"marsh", "ODETTE", "900 118"} {
		p := find(text).want(200).wantWords(".found", "Odette Marsh")
		if to := p.Find(".found a").AttrOr("href", ""); to != customerURL(c) {
			t.Errorf("%q leads to %q", text, to)
		}
	}
	find("nobody here").want(200).wantWords("h1", "Found for “nobody here”").wantWords("[role=status]", "Nobody fits")
	b.get("/find").want(200)
	find(strings.Repeat("x", 5000)).want(200)

	// Somebody whose phone number has the ticket's digits.
	c.write(func(tx pgx.Tx, by history.By) error {
		_, err := customer.Add(context.Background(), tx, by, customer.Details{Name: "Ada Flint", Phone: fmt.Sprint("07700 90", j.Number)})
		return err
	})
	find(fmt.Sprint(j.Number)).want(200).wantWords("[aria-labelledby=ticket]", "Tindra Lode").wantWords("[aria-labelledby=customers]", "Ada Flint")
}
