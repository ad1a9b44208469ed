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

// lately has the fork leave, done, and gives its job.
func (c frontDesk) lately() job.Job {
	ctx := context.Background()
	c.post("/drop-off", c.fields()...).want(303)
	rows, err := job.Board(ctx, c.pool, job.BoardFilter{})
	if err != nil {
		panic(err)
	}
	id := rows[0].ID
	c.done(id, func(tx pgx.Tx, by history.By) error { return job.HandOver(ctx, tx, by, id, "") })
	j, err := job.Get(ctx, c.pool, id)
	if err != nil {
		panic(err)
	}
	return j
}

// done makes a job ready, by a sheet of one step, and then what follows.
func (c frontDesk) done(id int64, then func(tx pgx.Tx, by history.By) error) {
	ctx := context.Background()
	c.write(func(tx pgx.Tx, by history.By) error {
		by.Roles = []string{"mechanic", "desk"}
		_, err := tx.Exec(ctx, `with one as (insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, intent_id, at)
				values ($1, 1, 'V', 'Prove', 'V5', 'check', 'Listen to it', 'No knock, no squelch.', $2, $3) returning id)
			insert into signoff (step_id, role, how, actor_id, intent_id, at) select id, 'done', 'seen', (select min(id) from staff), $2, $3 from one`,
			id, by.Intent, by.At)
		if err != nil {
			return err
		}
		for _, stage := range []string{job.OnBench, job.FinalCheck, job.Ready} {
			if err := job.Move(ctx, tx, by, id, stage, ""); err != nil {
				return err
			}
		}
		return then(tx, by)
	})
}

func TestTheCounterAsksWhatWasHereLately(t *testing.T) {
	c := newFrontDesk(t)
	before := c.lately()
	p := c.get("/drop-off/find?units=1&customer=" + c.id(c.customer)).want(200)
	p.wantWords(".again", "Same complaint as on ticket "+c.id(int64(before.Number))+"?")
	p = c.post("/drop-off", c.fields()...).want(http.StatusUnprocessableEntity)
	if got := p.wrong("unit0.again"); !strings.Contains(got, "ask whether it is the same complaint") {
		t.Errorf("beside the question stands %q", got)
	}
	other := c.post("/drop-off", c.fields("unit0.again", "999 yes")...).want(http.StatusUnprocessableEntity)
	if other.wrong("unit0.again") == "" {
		t.Error("the answer for another unit counts")
	}
	visit := c.post("/drop-off", c.fields("unit0.again", c.id(c.fork)+" yes", "unit0.mark0.place", "crown", "unit0.mark0.words", "chip", "unit0.lefton", "mudguard")...).want(303).to
	at := c.get(visit).Find(`tbody a[href^="/jobs/"]`).First().AttrOr("href", "")
	p = c.get(at).want(200)
	p.wantWords("main", "Comeback of "+c.id(int64(before.Number)))
	p.wantWords("main", "us: comeback of "+c.id(int64(before.Number)))
	p.wantWords("#as-it-came-part", "Chip crown")
	p.wantWords("#as-it-came-part", "Left on it: mudguard")
	if p.Find(`#as-it-came-part svg .tag`).Length() != 1 {
		t.Error("the mark is not on the drawing")
	}
	c.post(at+"/mark", "place", "arch", "mark", "").want(http.StatusUnprocessableEntity)
	c.post(at+"/mark", "place", "arch", "mark", "scratch").want(303)
	c.get(at+"/ticket").want(200).wantWords(".ticket", "2 scratch (arch)")
	var payer string
	if err := c.pool.QueryRow(t.Context(), "select payer from job where id = $1", strings.TrimPrefix(at, "/jobs/")).Scan(&payer); err != nil || payer != "us" {
		t.Errorf("paid by %q, %v", payer, err)
	}
	const lately = "/review?p=pick&from=2026-10-12&to=2026-10-13"
	review := c.as(owner).get(lately).want(200)
	review.wantWords("main", "Comebacks the same complaint within 90 days1 of 2")
	var signed string
	if err := c.pool.QueryRow(t.Context(), "select name from staff order by id limit 1").Scan(&signed); err != nil {
		t.Fatal(err)
	}
	review.wantWords("main", signed+"nobody has said yet")
	c.as(mechanic).post(at+"/why-back", "why", "the bushing, not the bolt").want(303)
	c.as(owner).get(lately).want(200).wantWords("main", "the bushing, not the bolt")
}

func TestAClaimIsAuthorisedOnThePageOfItsJob(t *testing.T) {
	c := newFrontDesk(t)
	visit := c.post("/drop-off", c.fields("unit0.payer", "warranty", "unit0.payerwords", "W-17")...).want(303).to
	at := c.get(visit).Find(`tbody a[href^="/jobs/"]`).First().AttrOr("href", "")
	c.get(at).want(200).wantWords("main", "not opened until it is authorised")
	c.get(at+"/ticket").want(200).wantWords(".ticket .caution", "not opened until it is authorised")
	c.post(at+"/authorise", "claim", "W-17").want(303)
	if p := c.get(at).want(200); strings.Contains(p.words("main"), "not opened until") {
		t.Error("it still says that it is not opened")
	}
}
