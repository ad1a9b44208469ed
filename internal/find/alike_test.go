package find_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/find"
)

// That the same number is written in these ways is ITU-T E.123 (national and
// international notation) and E.164; the numbers are Ofcom's, reserved for
// fiction. What counts as a slip of the fingers is Damerau's four kinds.
func TestWhyTwoPeopleMayBeOne(t *testing.T) {
	d := func(name, phone, mail string) customer.Details {
		return customer.Details{Name: name, Phone: phone, Mail: mail}
	}
	for _, c := range []struct {
		a, b customer.Details
		want string
	}{
		{d("Odette Marsh", "07700 900118", ""), d("Noor Ashby", "+44 (0)7700 900-118", ""), "the same phone number"},
		{d("Odette Marsh", "0044 7700 900118", ""), d("Noor Ashby", "07700/900118", ""), "the same phone number"},
		{d("Odette Marsh", "900118", ""), d("Noor Ashby", "07700 900118", ""), ""},
		{d("Odette Marsh", "07700 900118", ""), d("Noor Ashby", "07700 900119", ""), ""},
		{d("Odette Marsh", "", "Odette@Example.com"), d("Noor Ashby", "", "odette@example.com"), "the same mail address"},
		{d("Odette Marsh", "", ""), d("marsh, odétte", "", ""), "the same name"},
		{d("Odette Marsh", "", ""), d("Odtete Mrash", "", ""), "a name close to it"},
		{d("Odette Marsh", "", ""), d("O. Marsh", "", ""), "a name close to it"},
		{d("Odette Marsh", "", ""), d("Odette", "", ""), ""},
		{d("Odette Marsh", "", ""), d("Odette Marshall", "", ""), ""},
		{d("Tom Hart", "", ""), d("Tim Hart", "", ""), ""},
		{d("", "", ""), d("", "", ""), ""},
	} {
		var got []string
		for _, why := range find.Reasons(c.a, c.b) {
			got = append(got, why.String())
		}
		if s := strings.Join(got, ", "); s != c.want {
			t.Errorf("%+v and %+v: %q, want %q", c.a, c.b, s, c.want)
		}
	}
}

func alike(t *testing.T, d desk, typed customer.Details, but int64) string {
	t.Helper()
	list, err := find.LikelySame(ctx, d.tx, typed, but)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, a := range list {
		names = append(names, fmt.Sprint(a.Name, " ", a.Why))
	}
	return strings.Join(names, "; ")
}

func TestWhoIsLikelyTheSame(t *testing.T) {
	d := newDesk(t)
	odette := d.customer("Odette Marsh", "07700 900118", "odette@example.com")
	d.customer("Odette Marsch", "", "")
	d.customer("O. Marsh", "", "")
	d.customer("Noor Ashby", "+44 7700 900118", "")
	d.customer("Odette Quill", "", "")
	for _, c := range []struct {
		name  string
		typed customer.Details
		but   int64
		want  string
	}{
		{"all of it", customer.Details{Name: "odette marsh", Phone: "(07700) 900 118", Mail: "ODETTE@example.com"}, 0,
			"Odette Marsh [the same phone number the same mail address the same name]; Noor Ashby [the same phone number]; O. Marsh [a name close to it]; Odette Marsch [a name close to it]"},
		{"but herself", customer.Details{Name: "Odette Marsh", Phone: "07700 900118"}, odette,
			"Noor Ashby [the same phone number]; O. Marsh [a name close to it]; Odette Marsch [a name close to it]"},
		{"somebody else", customer.Details{Name: "Tilda Wick", Phone: "07700 900733", Mail: "tilda@example.com"}, 0, ""},
		{"nothing", customer.Details{}, 0, ""},
	} {
		if got := alike(t, d, c.typed, c.but); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// Old numbers and names of somebody who was merged still lead to them.
func TestWhoWasMergedIsFoundAsWhoTheyAre(t *testing.T) {
	d := newDesk(t)
	into, from := d.customer("Odette Ellery", "07700 900118", ""), d.customer("Odette Marsh", "07700 900555", "odmarsh@example.com")
	fork := d.unit(from, customer.UnitDetails{ModelWords: "black fork", BikeWords: "hardtail", BikeColour: "green", Serial: "TL-20418"})
	job := d.job(4711, from, fork, "in the queue")
	if err := customer.Join(ctx, d.tx, dbtest.Act(t, d.tx, d.by), customer.Merge{Into: into, From: from, IntoVersion: 1, FromVersion: 1}); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"odette marsh", "900555", "odmarsh@example.com", "mrash", "ellery"} {
		r := d.find(text)
		if len(r.Customers) != 1 || r.Customers[0].ID != into || r.Customers[0].Units != 1 || r.Customers[0].LastHere == nil {
			t.Errorf("%q finds %+v; want the one she is now, with her fork", text, r.Customers)
		}
	}
	if r := d.find("4711"); r.OnlyJob != job || r.Units[0].Owner.ID != into {
		t.Errorf("the ticket leads to job %d of customer %d", r.OnlyJob, r.Units[0].Owner.ID)
	}
	if got := alike(t, d, customer.Details{Name: "Somebody Else", Phone: "07700900555"}, 0); got != "Odette Ellery [the same phone number]" {
		t.Errorf("by the old number alike: %q", got)
	}
}

func BenchmarkLikelySame(b *testing.B) {
	pool := oldShop(b)
	var took []time.Duration
	for b.Loop() {
		start := time.Now()
		if _, err := find.LikelySame(b.Context(), pool, customer.Details{Name: "Odtete Marsh", Phone: "07700 912345", Mail: "odette1234@example.com"}, 0); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
}
