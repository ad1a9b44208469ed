package templates

import (
	"net/url"
	"strings"
	"testing"
)

// RFC 5724, 2.2: "sms:" number "?body=", where a space is %20 and a plus sign is
// one; from memory.
func TestATextCarriesItsWords(t *testing.T) {
	const words = "We promised your fork & shock for Wed 14 Oct, 17:00: 2 + 2 = 4, 100 % of “it”?"
	if got, want := string(textLink("07700 900 118", "a day later")), "sms:07700900118?body=a%20day%20later"; got != want {
		t.Errorf("a text goes to %q, want %q", got, want)
	}
	link := string(textLink("+44 7700 900118", words))
	u, err := url.Parse(link)
	if err != nil {
		t.Fatal(err)
	}
	if got := u.Query().Get("body"); got != words || strings.Contains(u.RawQuery, "+") {
		t.Errorf("%s carries %q, want %q", link, got, words)
	}
	if textLink("", words) != "" {
		t.Error("a message leads to nobody")
	}
}

// RFC 3986, 2.2 and 2.3: what is reserved is written in per cent, what is not
// stays as it is; RFC 5724, 2.5, "sms:+15105550101?body=hello%20there" (both from
// memory). Other characters are their bytes of UTF-8, RFC 3986, 2.5.
func TestWordsOfALinkAreWrittenByTheRFC(t *testing.T) {
	if got, want := string(textLink("+1 510-555-0101", "hello there")), "sms:+15105550101?body=hello%20there"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for words, want := range map[string]string{
		":/?#[]@":        "%3A%2F%3F%23%5B%5D%40",
		"!$&'()*+,;=":    "%21%24%26%27%28%29%2A%2B%2C%3B%3D",
		"aZ09-._~":       "aZ09-._~",
		"%":              "%25",
		"\u00c0\u30a2\n": "%C3%80%E3%82%A2%0A",
	} {
		if got := escaped(words); got != want {
			t.Errorf("%q is written %q, want %q", words, got, want)
		}
	}
}
