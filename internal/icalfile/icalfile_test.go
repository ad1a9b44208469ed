package icalfile_test

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"damperdesk/internal/icalfile"
)

func file(t interface{ Fatal(...any) }, e icalfile.Event) string {
	data, err := icalfile.Write([]icalfile.Event{e})
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// property is the value of a property, its lines unfolded as RFC 5545 3.1 says.
func property(t interface{ Fatalf(string, ...any) }, file, name string) string {
	for line := range strings.SplitSeq(strings.ReplaceAll(file, "\r\n ", ""), "\r\n") {
		if value, ok := strings.CutPrefix(line, name); ok && value[0] == ':' {
			return value[1:]
		}
	}
	t.Fatalf("no %s in\n%s", name, file)
	return ""
}

var noon = time.Date(2026, 10, 14, 12, 0, 0, 0, time.UTC)

// RFC 5545 3.3.11: backslash, semicolon, comma and newline are escaped, colon and
// quotation mark are not.
func TestTextIsEscaped(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"a,b;c\\d\ne:f\"g", `a\,b\;c\\d\ne:f"g`},
		{"one\r\ntwo\rthree", `one\ntwo\nthree`},
		{"bell\a and \x7f\x00 gone", `bell and  gone`},
		{"\xff broken", ` broken`},
	} {
		e := icalfile.Event{About: "x", Start: noon, End: noon.Add(time.Hour), Summary: c.text, Place: c.text, Words: c.text}
		for _, name := range []string{"SUMMARY", "LOCATION", "DESCRIPTION"} {
			if got := property(t, file(t, e), name); got != c.want {
				t.Errorf("%s of %q is %q, want %q", name, c.text, got, c.want)
			}
		}
	}
}

// RFC 5545 3.1: lines end with CRLF, have at most 75 octets without it, and are never
// folded within a UTF-8 sequence.
func TestLinesAreFoldedByOctets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[ab <>é€😀\\,;:\n]{0,200}`).Draw(t, "text")
		got := file(t, icalfile.Event{About: "x", Start: noon, AllDay: true, Summary: text})
		if strings.Count(got, "\n") != strings.Count(got, "\r\n") || strings.Count(got, "\r") != strings.Count(got, "\r\n") || !strings.HasSuffix(got, "END:VCALENDAR\r\n") {
			t.Fatalf("lines of %q do not all end with CRLF", got)
		}
		for line := range strings.SplitSeq(strings.TrimSuffix(got, "\r\n"), "\r\n") {
			if len(line) > 75 || !utf8.ValidString(line) || line == "" || line == " " {
				t.Fatalf("line %q of %d octets", line, len(line))
			}
		}
		back := strings.NewReplacer(`\\`, `\`, `\n`, "\n", `\,`, ",", `\;`, ";").Replace(property(t, got, "SUMMARY"))
		if back != text {
			t.Fatalf("%q is read back as %q", text, back)
		}
	})
}

// RFC 5545 3.8.4.7, 3.8.7.3 and 3.8.7.4: what is the same event keeps its UID, and what
// is newer has a larger SEQUENCE.
func TestANewerFileTakesThePlaceOfAnOlder(t *testing.T) {
	e := icalfile.Event{About: "visit 7", Start: noon, End: noon.Add(time.Hour), Since: noon, Revised: noon.Add(90 * time.Second)}
	first := file(t, e)
	if again := file(t, e); again != first {
		t.Errorf("what did not change is written as\n%s\nand then as\n%s", first, again)
	}
	e.Start, e.Revised = e.Start.Add(time.Hour), noon.Add(2*time.Minute)
	second := file(t, e)
	for name, want := range map[string][2]string{
		"UID":      {icalfile.UID("visit 7"), icalfile.UID("visit 7")},
		"SEQUENCE": {"90", "120"}, "DTSTAMP": {"20261014T120130Z", "20261014T120200Z"}, "LAST-MODIFIED": {"20261014T120130Z", "20261014T120200Z"},
	} {
		if got := [2]string{property(t, first, name), property(t, second, name)}; got != want {
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
	if icalfile.UID("visit 7") == icalfile.UID("visit 8") {
		t.Error("two visits have one UID")
	}
}

// The offsets around the changes of the clocks are those of zdump with tzdata 2025b: London
// 2026-03-29 01:00Z and 2026-10-25 01:00Z, New York 2026-11-01 06:00Z.
func TestInstantsAreWrittenInUTC(t *testing.T) {
	for _, c := range []struct {
		zone, local, want string
	}{
		{"Europe/London", "2026-03-28 09:00", "20260328T090000Z"},
		{"Europe/London", "2026-03-29 09:00", "20260329T080000Z"},
		{"Europe/London", "2026-10-24 09:00", "20261024T080000Z"},
		{"Europe/London", "2026-10-25 09:00", "20261025T090000Z"},
		{"America/New_York", "2026-10-31 09:00", "20261031T130000Z"},
		{"America/New_York", "2026-11-01 09:00", "20261101T140000Z"},
	} {
		loc, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.ParseInLocation("2006-01-02 15:04", c.local, loc)
		if err != nil {
			t.Fatal(err)
		}
		if got := property(t, file(t, icalfile.Event{Start: at, End: at.Add(time.Hour)}), "DTSTART"); got != c.want {
			t.Errorf("%s in %s is %s, want %s", c.local, c.zone, got, c.want)
		}
	}
}

// RFC 5545 3.6.1: the end of an event of days is the day after it.
func TestAWholeDayHasNoZone(t *testing.T) {
	east := time.Date(2026, 12, 31, 0, 30, 0, 0, time.FixedZone("", 13*3600))
	got := file(t, icalfile.Event{Start: east, AllDay: true})
	for _, line := range []string{"DTSTART;VALUE=DATE:20261231", "DTEND;VALUE=DATE:20270101", "TRANSP:TRANSPARENT"} {
		if !strings.Contains(got, fmt.Sprintf("\r\n%s\r\n", line)) {
			t.Errorf("no %s in\n%s", line, got)
		}
	}
}
