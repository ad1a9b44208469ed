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

func (b *browser) find(text string) *page { return b.get("/find?q=" + url.QueryEscape(text)) }

// keep adds a customer with units, whose serials others may have.
func (s *site) keep(d customer.Details, units ...customer.UnitDetails) {
	s.write(func(tx pgx.Tx, by history.By) error {
		id, err := customer.Add(context.Background(), tx, by, d)
		for _, u := range units {
			if u.SerialSure = true; err == nil {
				_, err = customer.AddUnit(context.Background(), tx, by, id, u)
			}
		}
		return err
	})
}

var greenFork = customer.UnitDetails{Kind: "fork", ModelWords: "Tindra Lode", Serial: "TL-20418", BikeWords: "hardtail", BikeColour: "green", FrameNo: "WB 77"}

func TestFindListsJobsCustomersAndUnits(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(mechanic)
	for _, text := range []string{"marsh", "ODETTE", "mrash"} {
		p := b.find(text).want(200).wantWords("[aria-labelledby=customers]", "Odette Marsh").wantWords("[aria-labelledby=units]", "Tindra Lode")
		p.wantWords("[aria-labelledby=jobs] li", fmt.Sprint(j.Number, " Tindra Lode Odette Marsh "))
		for place, want := range map[string]string{"jobs": jobURL(j), "customers": customerURL(c), "units": fmt.Sprint("/units/", j.UnitID)} {
			if to := p.Find("[aria-labelledby="+place+"] a").AttrOr("href", ""); to != want {
				t.Errorf("%q leads to %q among %s, want %q", text, to, place, want)
			}
		}
		if p.Find(".masthead input[name=q]").AttrOr("value", "") != text {
			t.Errorf("the box has lost %q", text)
		}
	}
	if marks := b.find("ode mar").Find("[aria-labelledby=customers] mark"); marks.Length() != 2 || marks.Text() != "OdeMar" {
		t.Errorf("marked is %q", marks.Text())
	}
	b.find("mrash").wantWords("[aria-labelledby=units] li", "perhaps meant")
	b.find("marsh 07700 900999").wantWords(".lead[role=status]", "This is without 07700900999.").wantWords("[aria-labelledby=customers]", "Odette Marsh")
}

func TestFindGoesStraightToWhatACodeIsOf(t *testing.T) {
	c := server(t).counter()
	j := c.takeIn("Tindra Lode", tomorrow)
	b := c.as(mechanic)
	c.keep(customer.Details{Name: "Ada Flint", Phone: fmt.Sprint("07700 90", j.Number)}, greenFork)
	b.find(fmt.Sprint(j.Number)).wantTo(jobURL(j))
	unit := b.find("tl 20418").want(303).to
	b.get(unit).want(200).wantWords("h1", "Tindra Lode").wantWords(".facts", "TL-20418")
	b.find("wb77").wantTo(unit)
	c.keep(customer.Details{Name: "Bea Flint"}, customer.UnitDetails{Kind: "fork", ModelWords: "twin", Serial: "tl20418"})
	p := b.find("TL20418").want(200)
	if n := p.Find("[aria-labelledby=units] li").Length(); n != 2 {
		t.Errorf("a serial of two units finds %d", n)
	}
	p.wantWords("[aria-labelledby=units] mark", "TL-20418")
}

func TestFindTeachesWhereNothingFits(t *testing.T) {
	c := server(t).counter()
	for _, text := range []string{"", "nobody here", "%", "<script>alert(1)</script>", "\x00", strings.Repeat("x", 5000), "\u202e🚲"} {
		p := c.as(mechanic).find(text).want(200).wantWords("[role=status]", "by a ticket number").wantWords("[role=status]", "by the colour of a bike")
		if p.Find("main a.button").Length() != 0 || p.Find("main script").Length() != 0 {
			t.Errorf("%.30q: a mechanic is offered a drop-off, or the text is a script", text)
		}
	}
	p := c.as(desk).find("Noor Ashby").want(200).wantWords("h1", "Found for “Noor Ashby”").wantWords("[role=status]", "Nothing fits.")
	to := p.Find("main a.button.main").AttrOr("href", "")
	if got := c.as(desk).get(to).want(200).value("name"); got != "Noor Ashby" {
		t.Errorf("%q begins a drop-off for %q", to, got)
	}
	if c.as(desk).find("").want(200).Find("main a.button").Length() != 0 {
		t.Error("nothing was typed, and somebody new is offered")
	}
}

func TestTheDropOffFindsByTheUnitToo(t *testing.T) {
	c := newFrontDesk(t)
	c.keep(customer.Details{Name: "Ada Flint", Phone: "07700 900333"},
		greenFork, customer.UnitDetails{Kind: "fork", ModelWords: "old fork", Tag: "T 31", BikeColour: "violet"})
	for text, want := range map[string]string{
		"tl-20418": "has the Tindra Lode off the green hardtail, serial TL-20418, frame WB 77, 07700 900333",
		"wb 77":    "Ada Flint", "t31": "tag T 31", "violet": "off the violet", "green hardtail flint": "Ada Flint", "900333": "07700 900333, 2 units",
		"flnit": "Ada Flint", "fl": "Somebody new", "ada 07700 900999": "Ada Flint",
	} {
		p := c.get("/drop-off/find?units=1&who=" + url.QueryEscape(text)).want(200)
		if got := p.words(".pick"); !strings.Contains(got, want) {
			t.Errorf("%q finds %q, want %q", text, got, want)
		}
	}
}
