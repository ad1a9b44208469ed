package web

import (
	"strings"
	"testing"
)

// It is 18 October 2027 on the clock of lastYear.
func TestNobodyRingsForATime(t *testing.T) {
	c := lastYear(t)
	b, at := c.as(desk), unitURL(c)
	for _, bad := range []struct{ kind, until, field, says string }{
		{"snoozed", "", "put-until", "Choose the day"},
		{"snoozed", "2027-10-18", "put-until", "is over"},
		{"snoozed", "2031-01-01", "put-until", "two years"},
		{"snoozed", "soon", "put-until", "Say a day"},
		{"", "2028-01-01", "kind", "Choose one"},
	} {
		p := b.post(at+"/put-off", "kind", bad.kind, "put-until", bad.until, "reason", "away").want(422)
		if !strings.Contains(p.wrong(bad.field), bad.says) || p.value("put-until") != bad.until {
			t.Errorf("%+v: beside %s stands %q, the field has %q", bad, bad.field, p.wrong(bad.field), p.value("put-until"))
		}
	}
	b.post(at+"/put-off", "kind", "snoozed", "put-until", "2028-03-01", "put-off-service", "lower-leg", "reason", "not riding").wantTo(at + "?done=put-off")
	b.get(at+"?done=put-off").wantWords(".told", "It is kept.").wantWords("[aria-labelledby=put-off]", "Lower-leg service put off until 1 March 2028, not riding just now.")
	b.post(at+"/ring-again", "service", "lower-leg").wantTo(at + "?done=put-off")
	b.post(at+"/ring-again", "service", "lower-leg").want(409).wantWords("main", "not put off any more")
	b.post(at+"/put-off", "kind", "elsewhere", "put-until", "", "put-off-service", "lower-leg").wantTo(at + "?done=put-off")
	b.get(at).wantWords("[aria-labelledby=put-off]", "Rides elsewhere: nobody rings until it comes in again.")
	c.as(mechanic).post(at+"/put-off", "kind", "elsewhere").want(403)
	page404(b, "/units/999999/put-off")
	b.post("/units/999999/put-off", "kind", "elsewhere").want(404)
}
