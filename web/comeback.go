package web

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/templates"
)

func recentOf(ctx context.Context, q db.Querier, units []customer.Unit, now time.Time, zone *time.Location) (map[int64]job.Recent, error) {
	var ids []int64
	for _, u := range units {
		ids = append(ids, u.ID)
	}
	return job.RecentOf(ctx, q, ids, interval.Day(now, zone), zone)
}

// askAgain wants an answer for every unit that left here lately: whether it is
// the same complaint.
func (a *App) askAgain(ctx context.Context, f *form, d job.DropOff) error {
	var ids []int64
	for _, u := range d.Units {
		ids = append(ids, u.UnitID)
	}
	recent, err := job.RecentOf(ctx, a.pool, ids, interval.Day(a.Now(), d.Zone), d.Zone)
	if err != nil {
		return err
	}
	for i, u := range d.Units {
		name := fmt.Sprintf("unit%d.again", i)
		r, lately := recent[u.UnitID]
		if lately && !u.Comeback && f.text(name) != templates.AgainNo(u.UnitID) {
			f.wrong(name, fmt.Sprintf("It left here on ticket %d not long ago: ask whether it is the same complaint.", r.Number))
		}
	}
	return nil
}

// marks are the rows of which something was said.
func (f *form) marks(prefix string) []job.Mark {
	var list []job.Mark
	for n := range templates.MarkRows {
		list = append(list, job.Mark{Place: f.text(prefix + job.MarkField(n, "place")), Words: f.text(prefix + job.MarkField(n, "words"))})
	}
	return list
}

// original reads the job that a comeback is about; nil for what is none.
func original(ctx context.Context, q db.Querier, j job.Job) (*job.Job, error) {
	if j.ComebackOf == nil {
		return nil, nil
	}
	o, err := job.Get(ctx, q, *j.ComebackOf)
	return &o, err
}

func whyBack(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	return job.SetWhyBack(ctx, tx, by, id, f.text("why"))
}

func authorise(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	return job.Authorise(ctx, tx, by, id, f.text("claim"))
}

func addMark(ctx context.Context, tx pgx.Tx, by history.By, id int64, f *form) error {
	return job.AddMark(ctx, tx, by, id, job.Mark{Place: f.text("place"), Words: f.text("mark")})
}
