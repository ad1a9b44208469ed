package web

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestTheReviewOfANewShopTeaches(t *testing.T) {
	b := server(t).as(owner)
	b.get("/review").want(http.StatusOK).
		wantWords(".lead", "Nothing has been taken in yet").
		wantWords(".nothing", "The first median takes six jobs").
		wantWords(`.masthead [aria-current="page"]`, "Review")
}

// chosen is the period the page marks.
func (p *page) chosen() string { return p.words(".filter [aria-current]") }

// Now is Tuesday 13 October: the last full week ended on Sunday the 11th.
func TestTheReviewsPeriodIsChosenByLinks(t *testing.T) {
	b := server(t).as(owner)
	for path, want := range map[string]string{
		"/review": "12 weeks to 11 October", "/review?p=4w": "4 weeks to 11 October",
		"/review?p=12w": "12 weeks to 11 October", "/review?p=year": "52 weeks to 11 October",
		"/review?p=pick": "pick days",
	} {
		if got := b.get(path).want(http.StatusOK).chosen(); got != want {
			t.Errorf("%s marks %q, want %q", path, got, want)
		}
	}
	page404(b, "/review?p=month")
	p := b.get("/review?p=pick").want(http.StatusOK)
	if from, to := p.value("from"), p.value("to"); from != "2026-07-20" || to != "2026-10-11" {
		t.Errorf("the form begins with %s to %s, want the twelve weeks", from, to)
	}
}

func TestTheReviewKeepsDaysThatCannotStand(t *testing.T) {
	b := server(t).as(owner)
	for _, c := range []struct{ from, to, field, sentence string }{
		{"", "2026-10-01", "from", "Type a day"},
		{"2026-10-01", "tomorrow", "to", "Type a day"},
		{"2026-02-30", "2026-10-01", "from", "Type a day"},
		{"2026-10-10", "2026-10-01", "to", "before the first"},
		{"2026-10-10", "2026-10-14", "to", "still to come"},
		{"2024-10-10", "2026-10-13", "from", "two years"},
		{"0001-01-01", "2026-10-13", "from", "Type a day"},
		{"2026-10-01\x00", "99999-10-13", "to", "Type a day"},
	} {
		p := b.get("/review?p=pick&from=" + escaped(c.from) + "&to=" + escaped(c.to)).want(http.StatusUnprocessableEntity)
		if got := p.wrong(c.field); !strings.Contains(got, c.sentence) {
			t.Errorf("%q to %q: %s says %q, want %q", c.from, c.to, c.field, got, c.sentence)
		}
		if got := p.value("to"); got != c.to {
			t.Errorf("%q comes back as %q", c.to, got)
		}
	}
}

func escaped(s string) string { return strings.ReplaceAll(s, "\x00", "%00") }

// The figures themselves are counted in internal/review; here they reach the
// page.
func TestTheReviewShowsHowTheShopStands(t *testing.T) {
	c := server(t).counter()
	late, ready := c.takeIn("Tindra Kelp", dbtest.Now.Add(time.Hour)), c.benchJob()
	tray := time.Date(2026, 10, 14, 0, 0, 0, 0, time.UTC)
	c.rewrite(func(ctx context.Context, tx pgx.Tx, by func() history.By) error {
		return job.Hold(ctx, tx, by(), late.ID, job.WaitingOnParts, "tray 9", &tray)
	}, desk)
	c.fromStartToReady(ready)
	c.pass(3 * 24 * time.Hour)
	p := c.as(owner).get("/review?p=pick&from=2026-10-12&to=2026-10-16").want(http.StatusOK)
	p.wantWords(".lead", "Not enough history to say how long a job takes: 1 job became ready in the 5 days to 16 October, and it takes 6.").
		wantWords(".lead", "Now: 1 wait open, the longest for 3 days; 1 job ready and not fetched.").
		wantWords(`[aria-labelledby="figures"] tbody tr:first-child th`, "1 job, and it takes 6").
		wantWords(`[aria-labelledby="figures"] tbody tr:first-child td`, "not enough history").
		wantWords(`[aria-labelledby="figures"]`, "The records begin on Tue 13 Oct").
		wantWords(`[aria-labelledby="kept"] tbody tr:first-child .drawn`, "not enough history").
		wantWords(`[aria-labelledby="kept"] tbody tr:first-child .r`, "1 of 2").
		wantWords(`[aria-labelledby="blocked"] .gem`, "waiting on parts").
		wantWords(`[aria-labelledby="blocked"] .peak`, "14 October, past").
		wantWords(`[aria-labelledby="blocked"]`, "tray 9").
		wantWords(`[aria-labelledby="unfetched"]`, "3 days")
	if n := p.Find("svg.chart[role=img]").Length(); n != 2 {
		t.Errorf("%d charts, want lead time and flow", n)
	}
	p.Find("svg.chart").Each(func(_ int, s *goquery.Selection) {
		for id := range strings.FieldsSeq(s.AttrOr("aria-labelledby", "")) {
			if p.words("#"+id) == "" {
				t.Errorf("nothing under %q names the chart", id)
			}
		}
	})
}
