package web

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestAParcelIsPaidOrSaysWhyNot(t *testing.T) {
	c := newFrontDesk(t)
	ctx := context.Background()
	c.post("/drop-off", c.fields("goesback", "post", "address", "3 Mill Lane, Hillfoot")...).want(303)
	rows, err := job.Board(ctx, c.pool, job.BoardFilter{})
	if err != nil || len(rows) != 1 {
		t.Fatal(rows, err)
	}
	id, path := rows[0].ID, "/jobs/"+c.id(rows[0].ID)
	c.done(id, func(pgx.Tx, history.By) error { return nil })
	c.get(path).want(200).wantWords(".by-post", "3 Mill Lane")
	send := []string{"how", job.SentBack, "carrier", "Hillfoot Parcels", "tracking", "HP7001", "airout", "yes"}
	p := c.post(path+"/hand-over", send...).want(422)
	p.wantWords("main", "Payment first: there is no bill yet.")
	if p.value("tracking") != "HP7001" {
		t.Error("the tracking code was not kept")
	}
	c.post(path+"/hand-over", append(send, "unpaid", "their transfer is on its way")...).wantTo(path + "?done=hand-over")
	c.get(path).want(200).wantWords("main", "With Hillfoot Parcels, tracking code HP7001, the air let out, unpaid: “their transfer is on its way”")
}
