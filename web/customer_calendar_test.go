package web

import (
	"bytes"
	"net/http"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/job"
)

// wantCalendar is the file of events there, its lines unfolded; it fails the test
// where RFC 5545 3.1 is not kept: CRLF, at most 75 octets, no UTF-8 sequence cut.
func (b *browser) wantCalendar(path, name string) string {
	b.t.Helper()
	answer, err := http.Get(b.url + path)
	if err != nil {
		b.t.Fatal(err)
	}
	defer answer.Body.Close()
	var content bytes.Buffer
	if _, err := content.ReadFrom(answer.Body); err != nil {
		b.t.Fatal(err)
	}
	text := content.String()
	if answer.StatusCode != http.StatusOK || answer.Header.Get("Content-Type") != "text/calendar; charset=utf-8" || answer.Header.Get("Content-Disposition") != `attachment; filename="`+name+`"` {
		b.t.Errorf("%s: %d, %v", name, answer.StatusCode, answer.Header)
	}
	if !strings.HasSuffix(text, "END:VCALENDAR\r\n") || strings.Count(text, "\n") != strings.Count(text, "\r\n") || strings.Count(text, "\r") != strings.Count(text, "\r\n") {
		b.t.Errorf("%s: its lines do not all end with CRLF:\n%q", name, text)
	}
	for line := range strings.SplitSeq(text, "\r\n") {
		if len(line) > 75 || !utf8.ValidString(line) {
			b.t.Errorf("%s: a line of %d octets: %q", name, len(line), line)
		}
	}
	return strings.ReplaceAll(text, "\r\n ", "")
}

// lineOf is the first line of a calendar that begins so.
func lineOf(calendar, begins string) string {
	for line := range strings.SplitSeq(calendar, "\r\n") {
		if strings.HasPrefix(line, begins) {
			return line
		}
	}
	return ""
}

// RFC 5545: 3.3.11 for what is escaped, 3.8.4.7 for the UID that stays.
func TestCustomersTakeTheirDaysIntoACalendar(t *testing.T) {
	c := newLinked(t)
	b := c.anybody()
	pickup := b.wantCalendar(c.visit+"/pickup.ics", "pickup.ics")
	if got, want := lineOf(pickup, "LOCATION:"), `LOCATION:Weir Lane Cycles\, a\,b\;c\\d\ne:f"g`; got != want {
		t.Errorf("the place is %q, want %q", got, want)
	}
	if !strings.Contains(lineOf(pickup, "SUMMARY:"), "Pick up Halvard Sill at Weir Lane Cycles") {
		t.Errorf("the pick-up is named %q", lineOf(pickup, "SUMMARY:"))
	}
	due := b.wantCalendar(c.visit+"/due.ics", "due.ics")
	if !strings.Contains(lineOf(due, "DTSTART"), ";VALUE=DATE:20271013") || !strings.Contains(lineOf(due, "DESCRIPTION:"), `\n`) {
		t.Errorf("a year after 13 October 2026 the service is due: %s, %s", lineOf(due, "DTSTART"), lineOf(due, "DESCRIPTION:"))
	}
	for name, first := range map[string]string{"pickup.ics": pickup, "due.ics": due} {
		if uid := lineOf(first, "UID:"); uid == "" || uid != lineOf(b.wantCalendar(c.visit+"/"+name, name), "UID:") {
			t.Errorf("%s has another UID at its second download, or none: %q", name, uid)
		}
		if strings.Contains(first, strings.TrimPrefix(c.visit, "/c/")) {
			t.Errorf("%s has the secret of the page", name)
		}
	}
	// A day order holds in the file too: what its customer chose.
	b.post(c.visit+"/way", "form", "reads", "version", "0", "days", "year month day").want(http.StatusSeeOther)
	if again := lineOf(b.wantCalendar(c.visit+"/due.ics", "due.ics"), "DESCRIPTION:"); !strings.Contains(again, "2027-10-13") {
		t.Errorf("the day is not written as chosen: %s", again)
	}
	c.as(desk).post(jobURL(c.job)+"/hand-over", "how", job.PickedUp).want(http.StatusSeeOther)
	b.get(c.visit + "/pickup.ics").wantTo(c.visit + "?done=no-events")
	b.wantCalendar(c.visit+"/due.ics", "due.ics")
}

func TestThereIsNoFileOrCardBeforeThereIsSomethingInIt(t *testing.T) {
	c := server(t).counter()
	b := c.anybody()
	at := c.address(c.takeIn("Überlånge Gåbel ünd Fèder für Straßen, sehr lång", dbtest.Now.Add(48*time.Hour)))
	promised := b.wantCalendar(at+"/pickup.ics", "pickup.ics")
	if !strings.Contains(lineOf(promised, "DTSTART"), ";VALUE=DATE:20261015") || !strings.Contains(promised, "Überlånge Gåbel ünd Fèder für Straßen\\, sehr lång: promised by") {
		t.Errorf("the promised day is\n%s", promised)
	}
	page := b.get(at).want(http.StatusOK)
	for name, says := range map[string]string{"/due.ics": "nothing to put in a calendar", "/card": "no settings to print yet"} {
		to := b.get(at + name).want(http.StatusSeeOther).to
		if !strings.HasPrefix(to, at+"?") {
			t.Fatalf("%s leads to %q, want the page of the visit", name, to)
		}
		b.get(to).want(http.StatusOK).wantWords("[role=status]", says)
		b.get("/c/" + strings.Repeat("x", 43) + name).want(http.StatusNotFound)
		if page.Find(`a[href$="`+name+`"]`).Length() > 0 {
			t.Errorf("the page leads to %s, which is not there", name)
		}
	}
}
