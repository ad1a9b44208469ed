// Package icalfile writes events as an iCalendar file (RFC 5545) for people to take
// into a calendar of their own. Instants are written in UTC, so that a file holds
// whatever the clocks do.
package icalfile

import (
	"bytes"
	"fmt"
	"strings"
	"time"
	"unicode"

	ics "github.com/arran4/golang-ical"
	"github.com/google/uuid"
)

// ContentType is that of a file as it is sent.
const ContentType = "text/calendar; charset=utf-8"

// Event is one event. With AllDay its start is a calendar day, whose zone does not
// matter, and there is no end.
type Event struct {
	// About is what the event is of, in words that no other event of any shop has
	// and that stay: its UID is made of them, so that a calendar which has the event
	// already puts the newer one in its place.
	About      string
	Start, End time.Time
	AllDay     bool
	// Summary, Place and Words are plain text, of several lines where they need them.
	Summary, Place, Words string
	// Since is when there was something to write an event of, Revised when it changed
	// last. Of two files the one with the later Revised is the newer.
	Since, Revised time.Time
}

// UID is the name of an event that stays; a UUID, as RFC 7986 asks.
func UID(about string) string {
	return uuid.NewSHA1(uuid.NameSpaceOID, []byte("damperdesk event of "+about)).String()
}

// Write is the file of events.
func Write(events []Event) ([]byte, error) {
	cal := ics.NewCalendar()
	cal.SetProductId("-//Damperdesk//Damperdesk//EN")
	cal.SetCalscale("GREGORIAN")
	for _, e := range events {
		e.put(cal.AddEvent(UID(e.About)))
	}
	var file bytes.Buffer
	if err := cal.SerializeTo(&file, ics.WithNewLineWindows); err != nil {
		return nil, fmt.Errorf("write a calendar file: %w", err)
	}
	return file.Bytes(), nil
}

// put leaves a property out that has nothing. SEQUENCE counts seconds: it need only
// grow with each change.
func (e Event) put(to *ics.VEvent) {
	to.SetDtStampTime(e.Revised)
	to.SetModifiedAt(e.Revised)
	to.SetSequence(max(0, int(e.Revised.Sub(e.Since)/time.Second)))
	if e.AllDay {
		to.SetAllDayStartAt(e.Start)
		to.SetAllDayEndAt(e.Start.AddDate(0, 0, 1))
		to.SetTimeTransparency(ics.TransparencyTransparent)
	} else {
		to.SetStartAt(e.Start)
		to.SetEndAt(e.End)
	}
	to.SetSummary(plain(e.Summary))
	if e.Place != "" {
		to.SetLocation(plain(e.Place))
	}
	if e.Words != "" {
		to.SetDescription(plain(e.Words))
	}
}

// plain is text with line feeds alone between its lines and no other control
// characters: RFC 5545 allows none, and the library lets them through.
func plain(text string) string {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\r':
			return '\n'
		case r != '\n' && unicode.IsControl(r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, ""))
}
