package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/shop"
)

// week is the form of the hours, from Monday.
func week(days ...string) []string {
	var fields []string
	for i, hours := range days {
		fields = append(fields, shop.DayField(time.Weekday((i+1)%7)), hours)
	}
	return fields
}

// week is the week that is set, in words.
func (s *site) week() string {
	s.t.Helper()
	h, err := shop.GetHours(context.Background(), s.pool)
	if err != nil {
		s.t.Fatal(err)
	}
	return shop.WeekWords(h.Openings)
}

func TestAnOwnerSetsTheHours(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	first := append(week("closed", "10-13, 14-18", "", "10 to 6 pm", "10-18", "0900-1300", "closed"), "intent", b.get("/shop/hours").intent("/shop/hours"))
	for range 2 { // a second press leads to the same place
		b.post("/shop/hours", first...).wantTo("/shop/hours?done=hours")
	}
	want := "Tuesday 10:00 to 13:00, 14:00 to 18:00; Thursday to Friday 10:00 to 18:00; Saturday 09:00 to 13:00"
	if got := s.week(); got != want {
		t.Fatalf("the week is %q, want %q", got, want)
	}
	p := b.get("/shop/hours?done=hours").want(http.StatusOK).wantWords("[role=status]", "The hours are set").wantWords(".lead", "Open 27 h a week")
	if p.value("tuesday") != "10:00 to 13:00, 14:00 to 18:00" || p.value("wednesday") != "closed" || p.Find(".choices").Length() != 0 {
		t.Errorf("Tuesday %q, Wednesday %q, usual weeks %d", p.value("tuesday"), p.value("wednesday"), p.Find(".choices").Length())
	}
	var was []string
	p.Find(`form[action="/shop/hours"] [name=was]`).Each(func(_ int, field *goquery.Selection) {
		was = append(was, "was", field.AttrOr("value", ""))
	})
	b.post("/shop/hours", append(week("closed", "10-18", "", "", "", "", ""), was...)...).wantTo("/shop/hours?done=hours")
	late := b.post("/shop/hours", append(week("9-17", "", "", "", "", "", ""), was...)...).want(http.StatusConflict)
	late.wantWords("[role=alert]", "Somebody else changed the hours")
	if late.value("monday") != "9-17" || s.week() != "Tuesday 10:00 to 18:00" {
		t.Errorf("Monday %q; the week is %v", late.value("monday"), s.week())
	}
}

func TestAUsualWeekIsOnePress(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	if n := b.get("/shop/hours").Find("[name=usual]").Length(); n != len(shop.UsualWeeks) {
		t.Errorf("%d usual weeks are offered, want %d", n, len(shop.UsualWeeks))
	}
	b.post("/shop/hours", "usual", "0").wantTo("/shop?done=hours")
	if got := s.week(); got != "Tuesday to Saturday 10:00 to 18:00" {
		t.Errorf("the week is %q", got)
	}
	b.get("/shop").wantWords(".settings", "Tuesday to Saturday 10:00 to 18:00")
}

func TestHoursThatCannotStandAreKept(t *testing.T) {
	s := server(t)
	p := s.as(owner).post("/shop/hours", week("10 to 6", "10-14, 13-18", "ten", "10-18", "", "", "")...).want(http.StatusUnprocessableEntity)
	for day, says := range map[string]string{
		"monday":  "It closes at 06:00, which is not after 10:00: for the afternoon write 18:00 or 6 pm.",
		"tuesday": "10:00 to 14:00 and 13:00 to 18:00 overlap.", "wednesday": "Write when it opens and closes, such as 10:00 to 18:00; or closed.",
		"thursday": "",
	} {
		if got := p.wrong(day); got != says {
			t.Errorf("beside %s: %q, want %q", day, got, says)
		}
	}
	if p.value("thursday") != "10-18" || p.value("wednesday") != "ten" || s.week() != "" {
		t.Errorf("Thursday %q, Wednesday %q, the week %q", p.value("thursday"), p.value("wednesday"), s.week())
	}
}

func TestAWeekWithoutAnOpenDayIsAskedAbout(t *testing.T) {
	s := server(t)
	p := s.as(owner).post("/shop/hours", week("", "closed", "", "", "", "", "")...).want(http.StatusUnprocessableEntity)
	if got := p.wrong("monday"); !strings.HasPrefix(got, "Open on no day?") || p.value("tuesday") != "closed" {
		t.Errorf("beside Monday %q, Tuesday %q", got, p.value("tuesday"))
	}
}

func TestAnOwnerClosesAndOpensAgain(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	b.post("/shop/hours", "usual", "0").want(http.StatusSeeOther)
	good := []string{"first", "2026-12-24", "last", "2027-01-02", "from", "1 pm", "until", "", "intent", uuid.NewString()}
	for range 2 {
		b.post("/shop/closures", good...).wantTo("/shop/hours?done=closed")
	}
	p := b.get("/shop/hours?done=closed").wantWords("[role=status]", "closed then").wantWords("#closures .rows", "Thu 24 Dec to Sat 2 Jan 2027 from 13:00")
	b.get("/shop").wantWords(".settings", "next: Thu 24 Dec to Sat 2 Jan 2027 from 13:00")
	for _, c := range []struct {
		field, wrong string
	}{{"first", ""}, {"first", "Christmas"}, {"first", "2025-12-24"}, {"last", "2026-12-01"}, {"last", "2025-12-26"}, {"last", "2029-01-01"}, {"from", "one"}, {"until", "12:00"}} {
		fields := with(good[:8], c.field, c.wrong)
		if c.field == "first" {
			fields = with(fields, "last", "")
		}
		wrong := b.post("/shop/closures", fields...).want(http.StatusUnprocessableEntity)
		if wrong.wrong(c.field) == "" || wrong.value("from") != with(good, c.field, c.wrong)[5] {
			t.Errorf("%s %q: %q beside it; from %q", c.field, c.wrong, wrong.wrong(c.field), wrong.value("from"))
		}
	}
	value := p.Find("[name=break]").AttrOr("value", "")
	b.post("/shop/closures/remove", "break", value).wantTo("/shop/hours?done=opened")
	b.post("/shop/closures/remove", "break", value).want(http.StatusConflict).wantWords("[role=alert]", "Somebody else changed this")
	b.post("/shop/closures/remove", "break", "all").want(http.StatusConflict)
	b.post("/shop/closures", "first", "2026-10-13").want(http.StatusSeeOther) // today
	b.get("/shop/hours").wantWords("#closures .rows", "Tue 13 Oct").wantWords("#holidays", "extra holidays of a single year, go in as closures")
	s.pass(48 * time.Hour)
	b.get("/shop/hours").wantWords("#closures", "None.").wantWords("#closures details", "Past closures, 1")
}

func TestPromisesForADayThatIsClosedAreListed(t *testing.T) {
	s := server(t)
	b, c := s.as(owner), s.counter()
	at := time.Date(2026, 10, 15, 16, 0, 0, 0, time.UTC) // Thursday 17:00 in London
	late := c.takeIn("Sill 34", at)
	c.takeIn("Brae 36", at.AddDate(0, 0, 1))
	c.takeIn("Weir 32", dbtest.Now.Add(6*time.Hour)) // this evening, after it closes
	if p := b.get("/shop/hours"); p.Find("#part-shut").Length() != 0 {
		t.Errorf("no hours are set, yet %s", p.words("#part-shut"))
	}
	b.post("/shop/hours", "usual", "0").want(http.StatusSeeOther)
	b.post("/shop/closures", "first", "2026-10-15", "from", "13").want(http.StatusSeeOther)
	b.get("/shop/hours").wantWords("#part-shut", "2 jobs promised")
	s.pass(24 * time.Hour)
	p := b.get("/shop/hours").wantWords("#part-shut", "1 job promised for when the shop is closed").wantWords("main .rows", "Sill 34")
	if to := p.Find("section .rows a").AttrOr("href", ""); to != fmt.Sprintf("/jobs/%d", late.ID) {
		t.Errorf("the job leads to %q", to)
	}
	b.get("/shop").wantWords(".settings", "1 job promised for when the shop is closed")
}
