package web

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestTheCustomersPageTellsNothingOfTheShopsOwn(t *testing.T) {
	c := newFrontDesk(t)
	s := c.site
	to := c.post("/drop-off", c.fields("left", "a red lock", "unit0.complaint", "groans, says the rider",
		"unit0.hangs", "peg eleven")...).want(http.StatusSeeOther).to
	link := strings.TrimPrefix(c.get(to).Find("#content a[href*='/c/']").AttrOr("href", ""), c.url)
	tables := "select (select count(*) from event), (select count(*) from intent), (select count(*) from session)"
	count := func() (n [3]int64) {
		t.Helper()
		if err := s.pool.QueryRow(context.Background(), tables).Scan(&n[0], &n[1], &n[2]); err != nil {
			t.Fatal(err)
		}
		return n
	}
	looked := func() {
		t.Helper()
		before := count()
		req, err := http.Get(s.url + link)
		if err != nil {
			t.Fatal(err)
		}
		defer req.Body.Close()
		p := read(t, req).want(http.StatusOK)
		if robots := req.Header.Get("X-Robots-Tag"); robots != "noindex, nofollow" || len(req.Cookies()) > 0 {
			t.Errorf("robots may %q, cookies %v", robots, req.Cookies())
		}
		for _, own := range []string{"900118", "red lock", "groans", "peg eleven", "tray nine", "Marsh", "refused by"} {
			if strings.Contains(p.body, own) {
				t.Errorf("the page says %q", own)
			}
		}
		if after := count(); after != before {
			t.Errorf("looking changed events, intents or sessions from %v to %v", before, after)
		}
	}
	looked()
	var id int64
	if err := s.pool.QueryRow(context.Background(), "select id from job").Scan(&id); err != nil {
		t.Fatal(err)
	}
	s.write(func(tx pgx.Tx, by history.By) error {
		by.Roles = []string{desk}
		return job.Hold(context.Background(), tx, by, id, job.WaitingOnParts, "tray nine", nil)
	})
	looked()
	s.write(func(tx pgx.Tx, by history.By) error {
		by.Roles = []string{desk}
		return job.Cancel(context.Background(), tx, by, id, "not worth repairing", "repair refused by the rider, rude")
	})
	looked()
}
