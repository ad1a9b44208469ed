package browsertest_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/web/browsertest"
)

// onTheWall is a full board on the screen on the wall, which nobody touches: it
// turns its pages, says when it is stale and comes back by itself.
func onTheWall(t *testing.T, d desk, s stock) {
	open := s.id("select count(*) from job where closed_at is null")
	s.bring(int(max(0, 60-open)))
	h := d.sit(t, "Ines", 1920, 1080)
	h.theme("light")
	h.goTo("/board/wall")
	h.reads("[data-wall-state]", "live")
	h.reads("[data-wall-page]", "Page 1 of 6")
	// It is read from across the room: nothing lies below the screen's edge.
	for page := range 6 {
		below, err := browsertest.Eval[int](h.Tab, `Math.ceil(document.documentElement.scrollHeight - innerHeight)`)
		h.must(err, "measure the wall")
		rows := h.shown(".board tbody tr")
		if below > 0 || rows != 10 {
			t.Errorf("page %d: %d px below the screen, %d rows; want none and 10", page+1, below, rows)
		}
		h.turn()
	}
	h.reads("[data-wall-page]", "Page 1 of 6")
	h.holds("a full wall")

	h.must(h.Block("*://*:*/board/wall*"), "cut the wall off")
	h.turn()
	h.reads("[data-wall-state]", "stale since")
	h.holds("a stale wall")
	h.must(h.Block(), "join it again")
	h.turn()
	h.reads("[data-wall-state]", "live")

	before := h.shown(".board tr")
	h.wait("[data-wall-page]", fmt.Sprintf("Page %d of 6", 4), 20*time.Second) // by its own clock
	if h.shown(".board tr") != before {
		t.Error("another page has other rows than ten")
	}
}

// turn turns the page as the wall's clock does, without the wait.
func (h hand) turn() {
	h.t.Helper()
	_, err := browsertest.Eval[bool](h.Tab, `document.dispatchEvent(new Event("turn"))`)
	h.must(err, "turn the page")
	time.Sleep(300 * time.Millisecond) // the fetch that goes with it
}

// shown is how many of the elements take room on the page.
func (h hand) shown(selector string) int {
	h.t.Helper()
	n, err := browsertest.Eval[int](h.Tab, `[...document.querySelectorAll(`+quote(selector)+`)].filter((e) => e.getClientRects().length).length`)
	h.must(err, "count "+selector)
	return n
}

// bring takes in so many forks of one customer.
func (s stock) bring(n int) {
	s.t.Helper()
	for i := range n {
		err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) error {
			by := dbtest.Act(s.t, tx, history.By{At: time.Now(), Roles: []string{"desk"}})
			_, err := job.TakeIn(s.t.Context(), tx, by, job.DropOff{
				NewCustomer: customer.Details{Name: fmt.Sprintf("Rider %d of the club", i+1), Phone: "07700 900 745"}, PromisedAt: by.At.Add(time.Duration(48+i) * time.Hour), Currency: "GBP",
				Units: []job.DropOffUnit{{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "club fork with a name of some length", Serial: fmt.Sprintf("CL-%d", i)},
					Symptoms: []string{"sticky"}, Services: []string{"lower-leg"}}},
			})
			return err
		})
		if err != nil {
			s.t.Fatal(err)
		}
	}
}
