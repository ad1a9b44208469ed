package letter

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/PuerkitoBio/goquery"

	"damperdesk/internal/customer"
	"damperdesk/internal/due"
	"damperdesk/internal/interval"
	"damperdesk/internal/message"
	"damperdesk/internal/shop"
)

func TestWhatCannotStandInWords(t *testing.T) {
	for _, c := range []struct {
		rule          string
		kind          message.Kind
		subject, body string
		field, want   string // "": it can stand
	}{
		{"plain words", message.Ready, "Done", "It is done.", "", ""},
		{"fields of the kind", message.StillHere, "{shop}", "Hello {first name}, {days here}", "", ""},
		{"in any case and spacing", message.Ready, "{ SHOP }", "Hello {First  Name}", "", ""},
		{"no subject", message.Ready, " ", "x", "subject", "Say what it is about."},
		{"no body", message.Ready, "x", " \n ", "body", "Say what the customer is to read."},
		{"two lines of subject", message.Ready, "x\r\nBcc: all", "x", "subject", "Keep it in one line."},
		{"misspelt", message.Ready, "x", "Hello {frist name}", "body", "There is no field {frist name}: choose one of those listed."},
		{"a field without a name", message.Ready, "x", "Hello {}", "body", "There is no field {}: choose one of those listed."},
		{"of another kind", message.Received, "x", "{days here}", "body", "Messages of this kind have no {days here}: choose one of those listed."},
		{"open to the end", message.Ready, "x", "Hello {first name", "body", "A brace begins or ends"},
		{"over two lines", message.Ready, "x", "Hello {first\nname}", "body", "A brace begins or ends"},
		{"a brace that ends none", message.Ready, "x", "Hello }", "body", "A brace begins or ends"},
		{"one in another", message.Ready, "x", "{first {name}}", "body", "A brace begins or ends"},
		{"may be empty, alone in its line", message.Ready, "x", "Ring {shop phone}.", "", ""},
		{"may be empty, beside another", message.Ready, "x", "{shop}, {shop phone}", "body", "{shop phone} may be empty: give it a line of its own"},
		{"may be empty, in the subject", message.Ready, "{shop phone}", "x", "subject", "{shop phone} may be empty: it has no place in the subject."},
		{"lines in the subject", message.GoAhead, "{what is proposed}", "x", "subject", "{what is proposed} may have several lines"},
		{"long", message.Ready, strings.Repeat("ä", 151), "x", "subject", "Keep it under 150 characters."},
	} {
		wrong := Words{c.subject, c.body}.Check(c.kind)
		if got := wrong[c.field]; c.want == "" && len(wrong) > 0 || c.want != "" && !strings.HasPrefix(got, c.want) {
			t.Errorf("%s: %v, want %q at %q", c.rule, wrong, c.want, c.field)
		}
	}
}

func TestShippedWordsCanStand(t *testing.T) {
	for _, kind := range message.Kinds {
		w := Shipped(kind)
		if wrong := w.Check(kind); len(wrong) > 0 || w.Subject == "" {
			t.Errorf("%s: %v", kind, wrong)
		}
		empty := map[string]string{}
		for _, f := range FieldsOf(kind) {
			if empty[f.Name] = "‹" + f.Name + "›"; f.Empty {
				empty[f.Name] = ""
			}
		}
		if text := w.Render(empty).Text; strings.Contains(text, "on .") || strings.Contains(text, "open .") || strings.Contains(text, "{") {
			t.Errorf("%s with nothing in what may be empty:\n%s", kind, text)
		}
	}
	for kind, text := range spoken {
		if _, fault := split(text); fault != "" {
			t.Errorf("%s read out: %s", kind, fault)
		}
	}
}

func TestALineWhoseFieldsAreEmptyIsLeftOut(t *testing.T) {
	w := Words{"{a}\n", "Hello {a}\n\n\nRing {b} now.\nstays\n{c}\n\n\nend {b} {a}"}
	l := w.Render(map[string]string{"a": "Ana", "b": "", "c": "one\ntwo"})
	if want := "Hello Ana\n\nstays\none\ntwo\n\nend  Ana\n"; l.Text != want || l.Subject != "Ana " {
		t.Errorf("%q, %q; want %q", l.Subject, l.Text, want)
	}
}

// The examples are those of RFC 3986, 1.1.2, and of an address in a sentence.
func TestHTMLSaysTheSameAndFetchesNothing(t *testing.T) {
	l := Words{"a <b>", "See {link}.\nOr http://www.ietf.org/rfc/rfc2396.txt, (https://example.com/a?b=c&d=e)\n\n<img src=http://example.com/x.png> javascript:alert(1) mailto:John.Doe@example.com {name}"}.
		Render(map[string]string{"link": "https://desk.example.org/c/a_b-c", "name": `<script>"&'`})
	page, err := goquery.NewDocumentFromReader(strings.NewReader(l.HTML))
	if err != nil {
		t.Fatal(err)
	}
	if n := page.Find("img, script, style, link, [style], [onclick]").Length(); n != 0 {
		t.Errorf("%d things that fetch or act:\n%s", n, l.HTML)
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	if got, want := squeeze(page.Find("body").Text()), squeeze(l.Text); got != want {
		t.Errorf("HTML says\n%s\nthe text\n%s", got, want)
	}
	var links []string
	page.Find("a").Each(func(_ int, a *goquery.Selection) { links = append(links, a.AttrOr("href", "")) })
	if want := "https://desk.example.org/c/a_b-c http://www.ietf.org/rfc/rfc2396.txt https://example.com/a?b=c&d=e http://example.com/x.png"; strings.Join(links, " ") != want {
		t.Errorf("links are %q, want %s", links, want)
	}
	if page.Find("title").Text() != "a <b>" {
		t.Errorf("the title is %q", page.Find("title").Text())
	}
}

// On a telephone a line has room for some forty characters: an address of a page is
// longer and has no place of its own to break at.
func TestALongAddressMayGoOnInTheNextLine(t *testing.T) {
	at := "https://desk.example.org/c/" + strings.Repeat("s", 43)
	l := Words{"a", "See {link}"}.Render(map[string]string{"link": at})
	page, err := goquery.NewDocumentFromReader(strings.NewReader(l.HTML))
	if err != nil {
		t.Fatal(err)
	}
	inside, err := page.Find("a").Html()
	if err != nil || page.Find("a").Text() != at {
		t.Fatalf("it reads %q, %v", page.Find("a").Text(), err)
	}
	for _, part := range strings.Split(inside, "<wbr/>") {
		if len(part) > 20 {
			t.Errorf("%q cannot break", part)
		}
	}
}

func TestWhatIsThereTwiceIsSaidOnce(t *testing.T) {
	for _, c := range []struct {
		want  string
		words []string
	}{
		{"", nil},
		{"Sill 34", []string{"Sill 34"}},
		{"Sill 34 and Kelp 120", []string{"Sill 34", "Kelp 120"}},
		{"Sill 34, Kelp 120 and Lode", []string{"Sill 34", "Kelp 120", "Lode"}},
		{"Sill 34 (2 of them)", []string{"Sill 34", "Sill 34"}},
		{"dropper, 31.6 by 150 (3 of them); Lode and Sill 34", []string{"dropper, 31.6 by 150", "Lode", "dropper, 31.6 by 150", "Sill 34", "dropper, 31.6 by 150"}},
	} {
		if got := joined(c.words); got != c.want {
			t.Errorf("%q is said as %q, want %q", c.words, got, c.want)
		}
	}
}

// Whatever is typed: what can stand leaves no brace unread, a subject is one
// line, and no line of it hides another.
func FuzzWords(f *testing.F) {
	for _, s := range []string{"Hello {first name}", "{", "}", "{{a}}", "{\n}", "{shop phone} {shop}", "a\rb", "\u2028{link}", "{ }", "{}"} {
		f.Add(s, s)
	}
	f.Fuzz(func(t *testing.T, subject, body string) {
		w := Words{subject, body}
		wrong := w.Check(message.Ready)
		values := map[string]string{}
		for _, field := range FieldsOf(message.Ready) {
			values[field.Name] = "v"
		}
		l := w.Render(values)
		if strings.ContainsAny(l.Subject, "\r\n\x00") || utf8.ValidString(subject) && !utf8.ValidString(l.Subject) {
			t.Errorf("subject %q", l.Subject)
		}
		if strings.ContainsAny(l.Text, "\r\x00") || strings.Contains(l.Text, "\n\n\n") {
			t.Errorf("text %q", l.Text)
		}
		if len(wrong) == 0 && strings.ContainsAny(l.Subject+l.Text, "{}") {
			t.Errorf("%q, %q can stand and leave a brace: %q, %q", subject, body, l.Subject, l.Text)
		}
		for field, sentence := range wrong {
			if field != "subject" && field != "body" || sentence == "" {
				t.Errorf("wrong is %q: %q", field, sentence)
			}
		}
	})
}

// Of two days that are known only the first says something.
func TestANextDateIsTheFirstOfThem(t *testing.T) {
	day := func(text string) time.Time {
		on, err := time.Parse(time.DateOnly, text)
		if err != nil {
			t.Fatal(err)
		}
		return on
	}
	p := prefsOf(shop.Settings{Zone: "UTC"}, customer.Way{}, day("2026-06-01"))
	months, season := interval.Date{By: interval.ByMonths, On: day("2027-06-17")}, interval.Date{By: interval.BySeason, On: day("2026-10-31")}
	for _, c := range []struct {
		next due.Next
		want string
	}{
		{due.Next{Rule: interval.Rule{Hours: 50}}, "S again after 50 hours of riding."},
		{due.Next{Dates: []interval.Date{months}}, "S again by 17 June 2027."},
		{due.Next{Rule: interval.Rule{Hours: 50}, Dates: []interval.Date{season, months}}, "S again after 50 hours of riding or at the end of the season, 31 October, whichever comes first."},
	} {
		c.next.Service = "S"
		if got := p.nextText(c.next); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
