package web

import (
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
)

func TestWasteIsLoggedAndTakenAway(t *testing.T) {
	s := server(t)
	m := s.as(mechanic)
	m.get("/parts/waste").want(200).wantWords(".caution", "local rules").wantWords("main", "Nothing is logged yet.")
	p := m.post("/parts/waste", "kind", "used oil", "amount", "lots", "container", "drum 1").want(422)
	if p.wrong("amount") == "" || p.value("container") != "drum 1" {
		t.Errorf("beside the amount %q, the container reads %q", p.wrong("amount"), p.value("container"))
	}
	m.post("/parts/waste", "kind", "used oil", "amount", "3 L", "container", "drum 1").wantTo("/parts/waste?done=log")
	m.post("/parts/waste", "kind", "rags and filters", "amount", "1.5 kg").want(303)
	m.post("/parts/waste", "kind", "used oil", "amount", "3", "ticket", "99").want(422).wantWords("#f-ticket-error", "no such ticket")
	m.get("/parts/waste").want(200).wantWords("#standing ~ table", "3 L").wantWords("#standing ~ table", "1.5 kg").wantWords("#standing ~ table", "drum 1")

	p = m.post("/parts/waste/pickup", "carrier", "", "document", "F-9", "taken_on", "2030-01-01").want(422)
	for _, field := range []string{"carrier", "taken_on", "amounts"} {
		if p.wrong(field) == "" {
			t.Errorf("nothing beside %s", field)
		}
	}
	m.post("/parts/waste/pickup", "carrier", "Fairlead Carriers", "document", "F-9", "taken_on", "2026-10-12", "amount0", "2 L").wantTo("/parts/waste?done=pickup")
	p = m.get("/parts/waste").want(200).wantWords("#standing ~ table", "1 L").wantWords("#pickups ~ table", "Fairlead Carriers, paper F-9")
	wrong := p.Find(`select[name="wrong"] option`).FilterFunction(func(_ int, o *goquery.Selection) bool { return strings.Contains(o.Text(), "taken away") }).AttrOr("value", "")
	m.post("/parts/waste/back", "wrong", wrong, "reason", "").want(422)
	m.post("/parts/waste/back", "wrong", wrong, "reason", "Another shop’s").wantTo("/parts/waste?done=back")
	m.get("/parts/waste").want(200).wantWords("#standing ~ table", "3 L").wantWords("#pickups ~ table", "taken back")

	m.get("/parts/waste/sheet").want(200).wantWords("article", "1 January 2026 to 13 October 2026").wantWords("article .caution", "licensed carrier").wantWords("article", "3 L")
	m.get("/parts/waste/sheet?from=2026-10-14&to=2026-10-13").want(422)
	m.get("/parts/waste/sheet?from=2026-09-01&to=2026-09-30").want(200).wantWords("article", "Used oil0 mL0 mL0 mL0 mL")
	file := m.get("/parts/waste/file").want(200).body
	for _, line := range []string{"2026-10-13,in,used oil,3000,mL,drum 1,", "2026-10-12,taken away,used oil,-2000,mL,,,Fairlead Carriers,F-9,Another shop’s,"} {
		if !strings.Contains(file, line) {
			t.Errorf("the file lacks %q:\n%s", line, file)
		}
	}
}
