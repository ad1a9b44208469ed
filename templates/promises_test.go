package templates

import (
	"net/url"
	"strings"
	"testing"
)

// RFC 5724, 2.2: "sms:" number "?body=" and RFC 6068, 2 and 5: "mailto:" address
// "?subject=" "&body=", where a space is %20 and a plus sign is one; from memory.
func TestMessageLinksCarryTheirWords(t *testing.T) {
	const words = "We promised your fork & shock for Wed 14 Oct, 17:00: 2 + 2 = 4, 100 % of “it”?"
	if got, want := string(textLink("07700 900 118", "a day later")), "sms:07700900118?body=a%20day%20later"; got != want {
		t.Errorf("a text goes to %q, want %q", got, want)
	}
	// The address of RFC 6068, 6.1, where a per cent sign is %25 (from memory).
	if got, want := string(mailLink("gorby%kremvax@example.com", "a day", "b c")), "mailto:gorby%25kremvax@example.com?subject=a%20day&body=b%20c"; got != want {
		t.Errorf("a mail goes to %q, want %q", got, want)
	}
	for _, link := range []string{string(textLink("+44 7700 900118", words)), string(mailLink("odette@example.com", "a new day", words))} {
		u, err := url.Parse(link)
		if err != nil {
			t.Fatal(err)
		}
		if got := u.Query().Get("body"); got != words || strings.Contains(u.RawQuery, "+") {
			t.Errorf("%s carries %q, want %q", link, got, words)
		}
	}
	if textLink("", words) != "" || mailLink("", "a", words) != "" {
		t.Error("a message leads to nobody")
	}
}
