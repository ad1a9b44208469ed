package templates

import (
	"testing"
	"time"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

// An invitation counts for the interval that the day of its sending is in, by the
// shop's clock, and for whoever got it. Auckland is 13 h ahead of UTC in January.
func TestWhichInvitationCounts(t *testing.T) {
	zone, err := time.LoadLocation("Pacific/Auckland")
	if err != nil {
		t.Fatal(err)
	}
	day := func(d int) time.Time { return time.Date(2026, 1, d, 0, 0, 0, 0, time.UTC) }
	at := func(d, hour int) time.Time { return time.Date(2026, 1, d, hour, 0, 0, 0, zone) }
	served := &interval.Served{Ready: day(10), Left: day(10)}
	for _, c := range []struct {
		name     string
		at       time.Time
		customer int64
		served   *interval.Served
		asked    *interval.Event
		want     bool
	}{
		{"never done here", at(10, 9), 7, nil, nil, true},
		{"on the day it left", at(10, 18), 7, served, nil, false},
		{"early on the day after", at(11, 8), 7, served, nil, true},
		{"whoever had it before", at(12, 9), 8, served, nil, false},
		{"before it was crashed", at(12, 9), 7, served, &interval.Event{OnDay: day(13)}, false},
		{"since it was crashed", at(13, 9), 7, served, &interval.Event{OnDay: day(13)}, true},
	} {
		r := due.Row{Unit: due.Unit{ID: 1, CustomerID: 7}, Code: "lower-leg", Outlook: interval.Outlook{Served: c.served, Asked: c.asked}}
		p := DuePage{Base: Base{Prefs: Prefs{Zone: zone}}, Invited: map[string]due.Invitation{InviteKey(r): {UnitID: 1, Customer: c.customer, Service: "lower-leg", At: c.at}}}
		if _, got := p.invitedFor(r); got != c.want {
			t.Errorf("%s: invited is %v, want %v", c.name, got, c.want)
		}
	}
}
