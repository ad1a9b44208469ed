package find

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"
)

func TestWhatIsTypedIsTakenApart(t *testing.T) {
	for text, want := range map[string]string{
		"":                           "[]",
		" \t ":                       "[]",
		"Odette  MARSH":              "[odette marsh]",
		"O’Neill-Łukaß":              "[oneill lukass]",
		"marsh 118":                  "[marsh 118/118]",
		"07700 900 118":              "[07700900118/7700900118] or [07700/7700 900/900 118/118]",
		"+44 (0)7700-900118":         "[4407700900118/447700900118] or [44 07700900118/7700900118]",
		"0044 7700 900118":           "[00447700900118/447700900118] or [0044/0044 7700/7700 900118/900118]",
		"(020) 7946/0018":            "[02079460018/2079460018] or [020/020 79460018/79460018]",
		"(020) / 7946 – 0018":        "[02079460018/2079460018] or [020/020 7946/7946 0018/0018]",
		"020 /7946 -0018":            "[02079460018/2079460018] or [020/020 7946/7946 0018/0018]",
		"020–7946‑0018":              "[02079460018/2079460018]",
		"000":                        "[000/000]",
		"12":                         "[12]",
		"TL-20418":                   "[tl 20418]",
		"29 inch":                    "[29 inch]",
		"Odette_M@Example.com marsh": "[odette m:odette_m@example.com marsh]",
		"@example.com":               "[]",
		"% _ \\ ' \" ; --":           "[]",
		"…!?":                        "[]",
		"🚲🔧":                         "[]",
		"a\x00b":                     "[a b]",
		"\xff\xfemarsh":              "[marsh]",
		"\u202eمرحبا\u202c":          "[مرحبا]",
	} {
		var ways []string
		for _, terms := range readings(clean(text)) {
			var list []string
			for _, t := range terms {
				s := t.text
				if t.digits != "" {
					s += "/" + t.digits
				}
				if t.mail != "" {
					s += ":" + t.mail
				}
				list = append(list, s)
			}
			ways = append(ways, fmt.Sprint(list))
		}
		if got := strings.Join(ways, " or "); got != want {
			t.Errorf("%q is taken as %s, want %s", text, got, want)
		}
	}
}

func TestOnlySoMuchIsLookedAt(t *testing.T) {
	long := clean(strings.Repeat("é", 10_000))
	if len(long) > longest || !utf8.ValidString(long) {
		t.Errorf("%d bytes are looked at, valid %v; want at most %d", len(long), utf8.ValidString(long), longest)
	}
	if terms := readings(strings.Repeat("a ", 90))[0]; len(terms) != mostTerms {
		t.Errorf("%d terms, want %d", len(terms), mostTerms)
	}
}

func TestATicketIsKnownAsItIsWritten(t *testing.T) {
	for text, want := range map[string]int{
		"4141": 4141, " 4141 ": 4141, "#4141": 4141, "# 4141": 4141, "ticket 4141": 4141, "Ticket no. 4141": 4141, "job #4141": 4141,
		"http://desk.test:8080/tickets/4141": 4141,
		"":                                   0, "0": 0, "04141": 0, "41 41": 0, "marsh 4141": 0, "4141 marsh": 0, "-4141": 0, "4141.5": 0,
		"9999999999": 0, "99999999999999999999": 0, "999999999": 999999999,
	} {
		if got := ticketIn(text); got != want {
			t.Errorf("%q is ticket %d, want %d", text, got, want)
		}
	}
}
