package templates

import (
	"bytes"
	"context"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/a-h/templ"

	"damperdesk/internal/quantity"
)

// Tuesday 14 October 2025, 14:12 in London, which is an hour ahead of UTC then.
var now = time.Date(2025, 10, 14, 13, 12, 0, 0, time.UTC)

func london(t *testing.T) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

func base(t *testing.T, roles ...string) Base {
	b := Base{Title: "Test", Shop: "Tarn Lane Cycles", Path: "/board", Now: now, Intent: "the-intent",
		Prefs: Prefs{Zone: london(t), Currency: "GBP", TorqueUnit: quantity.NewtonMetre, PressureUnit: quantity.PSI}}
	if len(roles) > 0 {
		b.Person = Person{ID: 7, Name: "Odile", Roles: roles}
	}
	return b
}

func draw(t *testing.T, c templ.Component) *goquery.Document {
	t.Helper()
	var out bytes.Buffer
	if err := c.Render(context.Background(), &out); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(&out)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// one is the text of the only element that fits.
func one(t *testing.T, doc *goquery.Document, selector string) *goquery.Selection {
	t.Helper()
	s := doc.Find(selector)
	if s.Length() != 1 {
		t.Fatalf("%d elements fit %s, want 1", s.Length(), selector)
	}
	return s
}

func TestEveryLayoutIsAWholePage(t *testing.T) {
	b := base(t, "desk")
	for name, page := range map[string]templ.Component{
		"desk": Layout(b, ""), "bench": BenchLayout(b, "", nil), "customer": CustomerLayout(b, "4127"), "print": PrintLayout(b),
	} {
		t.Run(name, func(t *testing.T) {
			doc := draw(t, page)
			if lang, _ := one(t, doc, "html").Attr("lang"); lang != "en" {
				t.Errorf("html lang is %q", lang)
			}
			one(t, doc, `meta[name="viewport"]`)
			one(t, doc, "main#content")
			one(t, doc, `a.skip[href="#content"]`)
			hashed := regexp.MustCompile(`^/static/[a-z]+\.[0-9a-f]{10}\.(css|js|svg)$`)
			doc.Find("link[href], script").Each(func(_ int, s *goquery.Selection) {
				if at := s.AttrOr("href", s.AttrOr("src", "")); !hashed.MatchString(at) {
					t.Errorf("%q is no hashed address", at)
				}
			})
		})
	}
}

func TestTheNavigationShowsWhatARoleMayDo(t *testing.T) {
	for _, c := range []struct {
		roles []string
		want  string
	}{
		{nil, ""},
		{[]string{"desk"}, "Board Drop-off Due list Messages Spec sheets Parts"},
		{[]string{"mechanic"}, "Board Bench Spec sheets Parts"},
		{[]string{"owner"}, "Board Drop-off Bench Due list Messages Spec sheets Parts Review Shop"},
	} {
		doc := draw(t, Layout(base(t, c.roles...), ""))
		var words []string
		doc.Find("nav a").Each(func(_ int, s *goquery.Selection) { words = append(words, s.Text()) })
		if got := strings.Join(words, " "); got != c.want {
			t.Errorf("roles %v see %q, want %q", c.roles, got, c.want)
		}
	}
	if here := one(t, draw(t, Layout(base(t, "desk"), "")), `nav [aria-current="page"]`).Text(); here != "Board" {
		t.Errorf("the page is marked as %q, want Board", here)
	}
}

func TestARefusedFormKeepsItsInputAndSaysWhyBesideTheField(t *testing.T) {
	b := base(t)
	b.Typed = url.Values{"name": {"Ragna"}, "passphrase": {"hush hush"}}
	b.Errors = map[string]string{"name": "Nobody of that name works here."}
	doc := draw(t, SignIn(SignInPage{Base: b, Next: "/board"}))
	field := one(t, doc, `input[name="name"]`)
	if field.AttrOr("value", "") != "Ragna" || field.AttrOr("aria-invalid", "") != "true" {
		t.Errorf("name field: value %q, aria-invalid %q", field.AttrOr("value", ""), field.AttrOr("aria-invalid", ""))
	}
	said := one(t, doc, "#"+field.AttrOr("aria-describedby", "missing")).Text()
	if said != "Nobody of that name works here." {
		t.Errorf("beside the field stands %q", said)
	}
	to := one(t, doc, `[role="alert"] a`).AttrOr("href", "")
	if to != "#"+field.AttrOr("id", "") {
		t.Errorf("the problem leads to %q, the field is %q", to, field.AttrOr("id", ""))
	}
	if v := one(t, doc, `input[name="passphrase"]`).AttrOr("value", ""); v != "" {
		t.Errorf("the pass-phrase came back as %q", v)
	}
	if doc.Find("body[data-unsent]").Length() != 1 {
		t.Error("the page does not say that the form was not stored")
	}
}

func TestEveryFieldOfEveryFormHasALabelAndEveryFormAnIntent(t *testing.T) {
	pages := map[string]templ.Component{
		"sign in": SignIn(SignInPage{Base: base(t)}),
		"set up":  Setup(SetupPage{Base: base(t)}),
		"me":      Me(MePage{Base: base(t, "desk"), PIN: base(t, "desk"), Passphrase: base(t, "desk"), Out: base(t, "desk")}),
	}
	for name, page := range pages {
		doc := draw(t, page)
		doc.Find("input:not([type=hidden]), select, textarea").Each(func(_ int, s *goquery.Selection) {
			id := s.AttrOr("id", "")
			if s.Closest("label").Length() == 0 && s.AttrOr("aria-label", "") == "" && doc.Find(`label[for="`+id+`"]`).Length() != 1 {
				t.Errorf("%s: field %q has no label", name, s.AttrOr("name", ""))
			}
		})
		doc.Find(`form[method="post"]`).Not(`[action="/sign-in"], [action="/sign-out"]`).Each(func(_ int, s *goquery.Selection) {
			if v := s.Find(`input[name="intent"]`).AttrOr("value", ""); v == "" {
				t.Errorf("%s: the form to %s has no intent", name, s.AttrOr("action", ""))
			}
		})
	}
}

func TestALostSignInSaysThatWhatWasTypedIsKept(t *testing.T) {
	one(t, draw(t, SignIn(SignInPage{Base: base(t), Lost: true})), "[data-unsent]")
	if n := draw(t, SignIn(SignInPage{Base: base(t)})).Find("[data-unsent]").Length(); n != 0 {
		t.Errorf("a plain sign-in page has %d marks of a form not sent", n)
	}
}

func TestAnErrorPageShowsItsSentenceAndWhereToLook(t *testing.T) {
	doc := draw(t, Error(ErrorPage{Base: base(t, "desk"), Status: 500, Sentence: "Nothing was changed.", ID: "ABCDEFGH"}))
	if got := one(t, doc, "main .lead").Text(); got != "Nothing was changed." {
		t.Errorf("sentence %q", got)
	}
	if got := one(t, doc, "main .no").Text(); got != "ABCDEFGH" {
		t.Errorf("error id %q", got)
	}
}

func TestTextIsEscaped(t *testing.T) {
	b := base(t, "desk")
	b.Person.Name = `<script>alert(1)</script>`
	doc := draw(t, Layout(b, ""))
	if n := doc.Find("script:not([src])").Length(); n != 0 {
		t.Errorf("a name made %d scripts", n)
	}
}

// Every class that a template names stands in the stylesheet, or means nothing.
func TestStatesHaveTheirShapeInTheStylesheet(t *testing.T) {
	css, err := os.ReadFile("../static/look.css")
	if err != nil {
		t.Fatal(err)
	}
	for _, shape := range []Shape{Disc, HalfDisc, Circle, Dotted, Triangle, Diamond, OpenDiamond, Square, Octagon, Arrow, TwoCircles} {
		for class := range strings.FieldsSeq(stateClass(shape, true)) {
			if !regexp.MustCompile(`\.` + class + `\b`).Match(css) {
				t.Errorf("class %q is not in look.css", class)
			}
		}
	}
}
