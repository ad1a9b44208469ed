package browsertest_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

// wholeBench is an air-spring service on which everything happens that can: a
// torque without a value, one outside its window, a bad grade with a picture, a
// slip that is crossed out, and the second check of a refitted fork. It is done
// on a tablet held either way.
func wholeBench(t *testing.T, d desk, s stock) {
	for _, held := range []device{{768, 1024}, {1024, 768}} {
		t.Run(fmt.Sprintf("%d px wide", held.width), func(t *testing.T) {
			id := s.refit(held.width)
			w := &whole{walk: walk{job: fmt.Sprintf("/jobs/%d", id), mechanic: d.sit(t, "Ines", held.width, held.height)}, stock: s, id: id}
			w.mechanic.goTo("/bench")
			w.mechanic.press(`form[action="` + w.job + `/start"] button`)
			w.signSheet(func(title string) {
				w.happens(title)
				if !w.mechanic.has(".signbar") { // all is signed, and some has to be looked at twice
					w.check(d, held)
					w.mechanic.goTo(fmt.Sprintf("/bench/%d", id))
				}
			})
			w.holds()
		})
	}
}

// refit takes in a fork with its bike, for an air-spring service, whose spec
// sheet has no torque for the stem.
func (s stock) refit(serial int) (jobID int64) {
	s.t.Helper()
	err := db.Write(s.t.Context(), s.pool, func(tx pgx.Tx) error {
		by := dbtest.Act(s.t, tx, history.By{At: time.Now(), Roles: []string{"desk", "mechanic"}})
		visit, err := job.TakeIn(s.t.Context(), tx, by, job.DropOff{
			NewCustomer: customer.Details{Name: fmt.Sprint("Tilda Wick ", serial), Phone: "07700 900 733"}, PromisedAt: by.At.Add(48 * time.Hour), Currency: "GBP",
			Units: []job.DropOffUnit{{
				NewUnit: customer.UnitDetails{Kind: "fork", ModelID: s.id("select id from model where name = 'Lode'"), Serial: fmt.Sprint("TW-", serial)},
				CameAs:  "whole bike", Symptoms: []string{job.JustDue}, Services: []string{"air-spring"},
			}},
		})
		if err != nil {
			return err
		}
		v, err := job.Visit(s.t.Context(), tx, visit)
		if err != nil {
			return err
		}
		jobID = v.Jobs[0].ID
		return job.MoveByHand(s.t.Context(), tx, by, jobID, job.InQueue)
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return jobID
}

// whole is the walk, and which of the things that can happen have.
type whole struct {
	walk
	stock                              stock
	id                                 int64
	valued, outside, graded, crossedUp bool
}

// happens does what is unusual on the page that is open.
func (w *whole) happens(title string) {
	h := w.mechanic
	switch {
	case h.has(`form[action$="/value"]`):
		w.valued = true
		h.must(h.Do(openDetails(`main details`)), "open everything")
		h.fill(`form[action$="/value"] [name="value"]`, "5")
		h.choose(`form[action$="/value"] [name="source_kind"][value="document"]`)
		h.fill(`form[action$="/value"] [name="source"]`, "manual of the stem, page 3")
		h.press(`form[action$="/value"] .main`)
	case h.has(`input[value="catches a fingernail"]`) && !w.graded:
		w.graded = true
		line := `.together li:has(input[value="catches a fingernail"]) `
		h.choose(line + `input[value="catches a fingernail"]`)
		h.choose(line + `.offer input[value="catches a fingernail"]`)
		h.must(h.Do(chromedp.SetUploadFiles(chromedp.CSS(line+`input[name$="offerfile"]`), []string{photograph(h.t)})), "picture it")
		h.reads(line, "Picture kept.")
		h.holds("a bad grade with its picture")
	case strings.Contains(title, "Wash") && !w.crossedUp:
		w.crossedUp = true
		w.crossOut()
	case strings.Contains(title, "Torque the foot") && !w.outside:
		w.outside = true
		h.fill(`main form [name="value-other"]`, "8")
		h.press(".signbar .main")
		h.reads("#f-reason-error", "is outside")
		h.fill(`[name="reason"]`, "the locker was dry; by the maker’s note of this spring")
	}
}

// check is somebody else looking at what has to be looked at twice.
func (w *whole) check(d desk, held device) {
	h := d.sit(w.mechanic.t, "Marit", held.width, held.height)
	h.goTo(fmt.Sprintf("/bench/%d/checks", w.id))
	for h.has(`[name="check"]:not(:checked)`) {
		h.choose(`[name="check"]:not(:checked)`)
	}
	h.holds("everything that is looked at twice")
	h.press(".together .main")
	h.reads("h1", "Bench sheet")
}

// holds compares what is stored with what was done.
func (w *whole) holds() {
	t := w.mechanic.t
	if !w.valued || !w.outside || !w.graded || !w.crossedUp {
		t.Errorf("a missing value: %v, outside: %v, a bad grade: %v, crossed out: %v; want all", w.valued, w.outside, w.graded, w.crossedUp)
	}
	of := "from signoff o join sheet_step s on s.id = o.step_id where s.job_id = $1 and "
	for what, query := range map[string]string{
		"a stem signed by a source that was given here": "select count(*) from step_value v join sheet_step s on s.id = v.step_id where s.job_id = $1 and s.key = 'R5'",
		"a torque outside its window with a reason":     "select count(*) " + of + "s.kind = 'torque' and not o.in_window and o.reason <> ''",
		"a finding with a picture":                      "select count(*) from finding f join finding_picture p on p.finding_id = f.id where f.job_id = $1 and f.grade = 'needs doing'",
		"a sign-off crossed out":                        "select count(*) " + of + "exists (select from cross_out x where x.signoff_id = o.id)",
	} {
		if n := w.stock.id(query, w.id); n != 1 {
			t.Errorf("%s: %d, want 1", what, n)
		}
	}
	if n := w.stock.id("select count(*) "+of+"o.role = 'checked' and not o.alone and o.actor_id <> o.of_actor_id", w.id); n < 3 {
		t.Errorf("%d second checks by another person, want those of stem, axle and brake", n)
	}
}
