package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/google/uuid"
)

func TestAnOwnerSaysWhoIsAtTheBench(t *testing.T) {
	s := server(t)
	b := s.as(owner, mechanic)
	b.post("/shop/hours", "usual", "0").want(http.StatusSeeOther)
	p := b.get("/shop/rota").want(http.StatusOK).wantWords("#part-weeks + .rows", "when the shop is open")
	who, seen := p.Find("#week [name=who]").AttrOr("value", ""), p.Find("#week [name=seen]").AttrOr("value", "")
	fields := append(week("closed", "9-12", "", "", "", "", ""), "who", who, "seen", seen, "from", "2026-01-05")
	wrong := b.post("/shop/rota", with(fields, "tuesday", "nine")...).want(http.StatusUnprocessableEntity)
	if got := wrong.wrong("tuesday"); !strings.HasPrefix(got, "Write when it opens") || wrong.value("tuesday") != "nine" {
		t.Errorf("beside Tuesday %q, and %q is kept", got, wrong.value("tuesday"))
	}
	if got := b.post("/shop/rota", with(fields, "from", "")...).want(http.StatusUnprocessableEntity).wrong("from"); got == "" {
		t.Error("without a day on which it begins nothing is said")
	}
	b.post("/shop/rota", fields...).wantTo("/shop/rota?done=week&who=" + who)
	b.get("/shop/rota").wantWords("#part-weeks + .rows", "Tuesday 09:00 to 12:00")
	b.post("/shop/rota", fields...).want(http.StatusConflict).wantWords("[role=alert]", "Somebody else changed this week")

	away := []string{"who", who, "first", "2027-02-01", "last", "2027-02-05", "from", "", "until", "", "words", "wedding", "intent", uuid.NewString()}
	for range 2 { // a second press does nothing new
		b.post("/shop/absences", away...).wantTo("/shop/rota?done=away")
	}
	p = b.get("/shop/rota").wantWords(`form[action="/shop/absences/remove"]`, "Mon 1 Feb 2027 to Fri 5 Feb 2027 wedding")
	if n := p.Find(`[name="absence"]`).Length(); n != 1 {
		t.Fatalf("%d absences stand, want 1", n)
	}
	for _, c := range [][2]string{{"first", ""}, {"last", "2027-01-01"}, {"until", "late"}} {
		fields := with(away[:12], c[0], c[1])
		if got := b.post("/shop/absences", fields...).want(http.StatusUnprocessableEntity).wrong(c[0]); got == "" {
			t.Errorf("%s %q: nothing stands beside it", c[0], c[1])
		}
	}
	b.post("/shop/absences/remove", "absence", p.Find(`[name="absence"]`).AttrOr("value", "")).wantTo("/shop/rota?done=back")
	b.get("/shop/rota").wantWords(`form[action="/shop/absences/remove"]`, "Nobody, now or ahead")

	version := b.get("/shop/rota").Find(`form[action="/shop/reserve"] [name=version]`).AttrOr("value", "")
	if got := b.post("/shop/reserve", "reserve", "95", "version", version).want(http.StatusUnprocessableEntity).wrong("reserve"); got != "Type per cent from 0 to 80." {
		t.Errorf("beside the reserve: %q", got)
	}
	b.post("/shop/reserve", "reserve", "20", "version", version).wantTo("/shop/rota?done=reserve")
	b.get("/shop").wantWords(".settings", "1 with a week of their own; 20 % kept free")

	version = b.get("/shop/rota").wantWords("#sure", "85 is common practice").Find(`#sure [name=version]`).AttrOr("value", "")
	for typed, says := range map[string]string{"": "Type how many in a hundred, such as 85.", "100": "Type a number from 50 to 99.", "most": "Type a whole number."} {
		p := b.post("/shop/sure", "sure", typed, "version", version).want(http.StatusUnprocessableEntity)
		if got := p.wrong("sure"); got != says || p.value("sure") != typed {
			t.Errorf("%q: %q stands beside it, and %q is kept", typed, got, p.value("sure"))
		}
	}
	b.post("/shop/sure", "sure", "90", "version", version).wantTo("/shop/rota?done=sure")
	b.get("/shop").wantWords(".settings", "90 in 100 are to be kept")
}

func TestAnOwnerSaysWhoDoesNotDoWhat(t *testing.T) {
	c := server(t).counter()
	b := c.as(owner, mechanic)
	p := b.get("/shop/rota").want(http.StatusOK)
	who := p.Find(`#does [name=who]`).AttrOr("value", "")
	if all, ticked := p.Find(`#does [name=does]`).Length(), p.Find(`#does [name=does][checked]`).Length(); all == 0 || ticked != all {
		t.Errorf("%d of %d services are ticked before anybody says anything", ticked, all)
	}
	fields := []string{"who", who}
	p.Find(`#does [name=does]`).Each(func(_ int, s *goquery.Selection) {
		if code := s.AttrOr("value", ""); code != "damper" {
			fields = append(fields, "does", code)
		}
	})
	b.post("/shop/does", fields...).wantTo("/shop/rota?done=does&who=" + who)
	p = b.get("/shop/rota").wantWords("#part-weeks + .rows", "does not do: Damper service")
	if n := p.Find(`#does [name=does]:not([checked])`).Length(); n != 1 || p.Find(`#does [name=not]`).AttrOr("value", "") != "damper" {
		t.Errorf("%d services are not ticked, want the damper alone", n)
	}
	b.post("/shop/does", fields...).want(http.StatusConflict).wantWords("[role=alert]", "Somebody else changed what they do")
	b.post("/shop/does", append(fields, "not", "damper", "does", "damper")...).wantTo("/shop/rota?done=does&who=" + who)
	if p = b.get("/shop/rota"); p.Find(`#does [name=does]:not([checked])`).Length() != 0 {
		t.Error("all are done again, and not all are ticked")
	}
}

func TestAnOwnerKeepsPublicHolidays(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	b.post("/shop/hours", "usual", "1").want(http.StatusSeeOther)
	b.post("/shop/holidays", "was", "", "region", "Atlantis").want(http.StatusUnprocessableEntity)
	b.post("/shop/holidays", "was", "", "region", "GB-EAW").wantTo("/shop/hours?done=region#holidays")
	p := b.get("/shop/hours").wantWords("#holidays", "Christmas Day").wantWords("#holidays", "Good Friday")
	day := p.Find(`#holidays [name="open"]`).First().AttrOr("value", "")
	b.post("/shop/holidays/open", "open", day).wantTo("/shop/hours?done=day#holidays")
	p = b.get("/shop/hours").wantWords("#holidays", "Open; close then")
	if got := p.Find(`#holidays [name="close"]`).AttrOr("value", ""); got != day {
		t.Errorf("%s was opened, and %q is open", day, got)
	}
	b.post("/shop/holidays/open", "close", day).wantTo("/shop/hours?done=day#holidays")
	b.get("/shop").wantWords(".settings", "England and Wales")
}

func TestAnOwnerSetsBookTimes(t *testing.T) {
	c := server(t).counter()
	b := c.as(owner)
	b.get("/services/times").want(http.StatusOK).wantWords(".prices", "empty: 50, common practice").wantWords(".prices", "not enough history, 0 of 5 jobs stated")
	for typed, says := range map[string]string{"an hour": "Type a whole number.", "0": "Type minutes, or leave it empty.", "2000": "Type minutes from 1 to 1440, or leave it empty."} {
		p := b.post("/services/times", "was.lower-leg", "0", "minutes.lower-leg", typed).want(http.StatusUnprocessableEntity)
		if got := p.wrong("minutes.lower-leg"); got != says || p.value("minutes.lower-leg") != typed {
			t.Errorf("%s: %q stands beside it, and %q is kept", typed, got, p.value("minutes.lower-leg"))
		}
	}
	b.post("/services/times", "was.lower-leg", "0", "minutes.lower-leg", "55", "was.refit", "0", "minutes.refit", "30").wantTo("/services/times?done=times")
	p := b.get("/services/times")
	if p.value("minutes.lower-leg") != "55" || p.value("minutes.refit") != "30" || p.value("minutes.full") != "" {
		t.Errorf("lower-leg %q, refit %q, full %q", p.value("minutes.lower-leg"), p.value("minutes.refit"), p.value("minutes.full"))
	}
	b.post("/services/times", "was.lower-leg", "0", "minutes.lower-leg", "60").want(http.StatusConflict)
	for field, fields := range map[string][]string{
		"service": {"service", "none", "model", "1", "minutes", "70"},
		"model":   {"service", "full", "model", "", "minutes", "70"},
		"minutes": {"service", "full", "model", "", "minutes", "9999"},
	} {
		if got := b.post("/services/times/model", fields...).want(http.StatusUnprocessableEntity).wrong(field); got == "" {
			t.Errorf("%v: nothing stands beside %s", fields, field)
		}
	}
}
