package templates

import (
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"damperdesk/internal/customer"
	"damperdesk/internal/job"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/shop"
	"damperdesk/internal/spec"
	"damperdesk/internal/staff"
)

// notCompared are fields of a drop-off in which two drafts may differ unsaid, and
// why.
var notCompared = map[string]string{
	"intent": "of the act", "as": "of the act", "draft": "which draft it is", "hand": "which opening it is", "version": "at what it was opened",
	"told":     "of whose draft the page tells",
	"who":      "what was searched for; whom it found is compared",
	"proposed": "the day the page worked out", "termsid": "which terms the page showed",
	"unit0.file": "a picture on its way; what arrived is compared",
}

// wholeDropOff is a page with every field that a drop-off can have.
func wholeDropOff(t *testing.T) DropOffPage {
	b := base(t, "desk")
	b.Typed = url.Values{"unit0.unit": {"4"}, "unit0.picture": {"9"}, "unit0.measured.stanchion": {"35"}}
	b.Errors = map[string]string{"unit0.serial": "Another unit has it.", "unit0.rider": "Is that right?"}
	d := 35.0
	p := DropOffPage{Base: b, Count: 1, Terms: &shop.Terms{ID: 1, Words: "We look after it.", At: now}, Customer: &customer.Customer{ID: 3, Name: "Odette Marsh"},
		Units:    []customer.Unit{{ID: 4, Kind: "fork", Name: "Tindra Lode"}},
		Recent:   map[int64]job.Recent{4: {UnitID: 4, Number: 12, LeftAt: now}},
		Models:   []spec.Model{{ID: 5, Kind: "fork", Maker: "Halvard", Name: "Sill", Build: spec.Build{StanchionMM: &d}}},
		Measured: []spec.Measured{{Kind: "fork", Build: spec.Build{StanchionMM: &d}}}, Pictures: []picture.Picture{{ID: 9}},
		Services: []procedure.Service{{Code: "lower-leg", Name: "Lower-leg service"}}, Mechanics: []staff.Person{{ID: 8, Name: "Ines"}}}
	p.Promise.Base = b
	p.Promise.Days = []PromiseDay{{At: now}}
	return p
}

func TestEveryFieldOfADropOffIsHeldAgainstThatOfAnotherDesk(t *testing.T) {
	p := wholeDropOff(t)
	form := draw(t, DropOff(p)).Find("form[data-draft]")
	seen := map[string]bool{}
	form.Find("input, select, textarea").Each(func(_ int, field *goquery.Selection) {
		name := field.AttrOr("name", "")
		if seen[name] || notCompared[name] != "" {
			seen[name] = true
			return
		}
		seen[name] = true
		value := "something"
		if field.Is("select") {
			value = field.Find("option").Last().AttrOr("value", "")
		} else if field.Is("[type=radio], [type=checkbox], [type=hidden]") {
			value = field.AttrOr("value", "")
		}
		a := Apart{Mine: job.Draft{Fields: "units=1", About: "Odette Marsh"}, Theirs: job.Draft{About: "Odette Marsh"}, Units: p.Units, Models: p.Models, Mechanics: p.Mechanics}
		theirs := url.Values{"units": {"1"}}
		if name == "units" {
			value = "2"
		}
		theirs.Set(name, value)
		a.Theirs.Fields = theirs.Encode()
		if lines := a.lines(p.Base); len(lines) != 1 {
			t.Errorf("%s, which is %q in one alone: %d lines, want one: %+v", name, value, len(lines), lines)
		}
	})
	for name := range notCompared {
		if !seen[name] {
			t.Errorf("%s is excepted, and no field of the form", name)
		}
	}
	for _, name := range []string{"unit0.again", "unit0.serialsure", "unit0.ridersure", "unit0.picture", "unit0.fits", "unit0.mark0.place", "promise", "booked", "address"} {
		if !seen[name] {
			t.Errorf("the page has no %s, so that nothing is known of it", name)
		}
	}
	if len(seen) < 50 {
		t.Errorf("the page has %d fields, want those of a whole drop-off", len(seen))
	}
}

func TestWhatTwoDesksChoseIsSaidInWords(t *testing.T) {
	both := func(name, mine, theirs string) draftLine {
		fields := func(v string) string { return url.Values{"units": {"1"}, name: strings.Fields(v)}.Encode() }
		a := Apart{Mine: job.Draft{Fields: fields(mine), About: "Odette Marsh"}, Theirs: job.Draft{Fields: fields(theirs), About: "Odette Marsh"},
			Units: []customer.Unit{{ID: 4, Name: "Tindra Lode"}}, Mechanics: []staff.Person{{ID: 8, Name: "Ines"}}}
		lines := a.lines(base(t, "desk"))
		if len(lines) != 1 {
			t.Fatalf("%s: %d lines, want one", name, len(lines))
		}
		return lines[0]
	}
	for _, c := range []struct {
		name, mine, theirs string
		want               draftLine
	}{
		{"unit0.measured.axle", "15x110", "", draftLine{"Axle", "15 × 110 mm", "none"}},
		{"unit0.measured.wheel", "", "622", draftLine{"Wheel size", "none", "622\u00a0mm (29\u00a0in)"}},
		{"unit0.measured.leg", "left", "right", draftLine{"Spring in", "the rider’s left", "the rider’s right"}},
		{"unit0.mark0.place", "crown", "", draftLine{"Mark 1", markPlace("crown"), "none"}},
		{"unit0.ebike", "yes", "", draftLine{"On an e-bike", "yes", "none"}},
		{"unit0.mechanic", "8", "0", draftLine{"Mechanic", "Ines", "none"}},
		{"unit0.picture", "1 2", "2 3 4", draftLine{"Pictures", "2 pictures, 1 of them here alone", "3 pictures, 2 of them here alone"}},
		{"customer", "3", "new", draftLine{"Customer", "Odette Marsh, on record here", "Odette Marsh, somebody new"}},
		{"booked", "2025-10-20", "", draftLine{"Day it comes", base(t).Date(now.AddDate(0, 0, 6)), "none"}},
	} {
		if got := both(c.name, c.mine, c.theirs); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	if !slices.Contains(job.MarkPlaces, "crown") {
		t.Error("a mark is at no place of the drawing")
	}
}
