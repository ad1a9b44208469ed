package link

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// Viewed is how often the page of a link was opened on a day of the shop.
type Viewed struct {
	Day   time.Time
	Count int
}

// View counts that the page of a token was opened on that day of the shop, in one
// row for each link and day, without who did it. It is no act: nothing of the work
// changes by it and nothing is told from it, and one that is lost is missed by
// nobody. A token that leads nowhere counts nothing.
func View(ctx context.Context, tx pgx.Tx, secret string, day time.Time) error {
	_, err := tx.Exec(ctx, `insert into link_view (link_id, day, count) select id, $2, 1 from link where token_hash = $1
		on conflict (link_id, day) do update set count = link_view.count + 1`, hash(secret), day)
	if err != nil {
		return fmt.Errorf("count a view: %w", db.Translate(err))
	}
	return nil
}

// mostViewed is how many days are listed.
const mostViewed = 5

// Views lists the last five days on which the page of a visit was opened, the
// newest first, by whichever of its links.
func Views(ctx context.Context, q db.Querier, visitID int64) ([]Viewed, error) {
	return owner{OfVisit, visitID}.views(ctx, q)
}

// ViewsOfUnit is Views of the service book of a unit.
func ViewsOfUnit(ctx context.Context, q db.Querier, unitID int64) ([]Viewed, error) {
	return owner{OfUnit, unitID}.views(ctx, q)
}

func (o owner) views(ctx context.Context, q db.Querier) ([]Viewed, error) {
	rows, err := q.Query(ctx, `select v.day, sum(v.count)::int as count from link_view v join link l on l.id = v.link_id
		where l.`+o.column()+` = $1 group by v.day order by v.day desc limit $2`, o.id, mostViewed)
	list, err := db.All[Viewed](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read views: %w", err)
	}
	return list, nil
}

// viewsLast is how many years views are kept.
const viewsLast = 2

// SweepViews forgets views that are older than two years, and says how many.
func SweepViews(ctx context.Context, tx pgx.Tx, now time.Time) (int64, error) {
	tag, err := tx.Exec(ctx, "delete from link_view where day < $1", now.AddDate(-viewsLast, 0, 0))
	if err != nil {
		return 0, fmt.Errorf("sweep views: %w", err)
	}
	return tag.RowsAffected(), nil
}
