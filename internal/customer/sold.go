package customer

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

var (
	errHere   = fault.Conflict("This unit is here on an open ticket: end that first.")
	errTheirs = fault.Field("customer", "They have this unit already: choose somebody else.")
)

// Sell gives a unit to another owner from the day of the act on, in the shop's
// zone: with its service book, its readings and what is known of its inside. The
// visits and jobs of before stay with whoever they were written for, and the bike
// stays too. Sold by mistake it is sold back. While it is here on an open job it
// is refused.
func Sell(ctx context.Context, tx pgx.Tx, by history.By, unitID, to int64, zone *time.Location) error {
	to, err := Now(ctx, tx, to)
	if err != nil {
		return err
	}
	var from int64
	err = tx.QueryRow(ctx, "select customer_id from unit where id = $1 for update", unitID).Scan(&from)
	if errors.Is(err, pgx.ErrNoRows) {
		return db.NotThere("unit")
	}
	if err != nil {
		return fmt.Errorf("sell unit: %w", db.Translate(err))
	}
	if from == to {
		return errTheirs
	}
	u, err := GetUnit(ctx, tx, unitID)
	if err != nil {
		return err
	}
	if u.OpenJobID != 0 {
		return errHere
	}
	words := UnitDetails{Serial: u.Serial, Tag: u.Tag}
	if u.ModelID == 0 {
		words.ModelWords = u.Name
	}
	k := words.keys()
	batch := &pgx.Batch{}
	batch.Queue(`update unit set customer_id = $2, bike_id = null, words_key = $3, frame_key = $4, grams = $5, version = version + 1 where id = $1`,
		unitID, to, k.words, k.frame, k.grams)
	batch.Queue(`insert into unit_sold (unit_id, from_customer, to_customer, on_day, actor_id, intent_id, at) values ($1, $2, $3, $4, nullif($5, 0::bigint), $6, $7)`,
		unitID, from, to, by.At.In(zone).Format(time.DateOnly), by.Staff, by.Intent, by.At)
	history.Queue(batch, by,
		history.Event{SubjectKind: "unit", SubjectID: unitID, Customer: from, Unit: unitID, Kind: "unit sold", Detail: map[string]any{"to": to}},
		history.Event{SubjectKind: "customer", SubjectID: to, Customer: to, Kind: "unit bought", Detail: map[string]any{"unit": unitID, "from": from}})
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("sell unit: %w", db.Translate(err))
	}
	return nil
}

// Sold is a unit that went from one owner to another.
type Sold struct {
	UnitID int64
	Unit   string // maker and model, or own words
	FromID int64  // who they are now
	From   string
	ToID   int64
	To     string
	OnDay  time.Time
}

const soldSQL = `select s.unit_id, coalesce(m.maker || ' ' || m.name, u.model_words) as unit, f.now_id as from_id, f.name as from, t.now_id as to_id, t.name as to, s.on_day
	from unit_sold s join unit u on u.id = s.unit_id left join model m on m.id = u.model_id
	join customer_now f on f.id = s.from_customer join customer_now t on t.id = s.to_customer `

// OwnersOf lists how a unit went from owner to owner, the last change first.
func OwnersOf(ctx context.Context, q db.Querier, unitID int64) ([]Sold, error) {
	rows, err := q.Query(ctx, soldSQL+"where s.unit_id = $1 order by s.id desc", unitID)
	list, err := db.All[Sold](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read owners: %w", err)
	}
	return list, nil
}

// SoldBy lists the units that a customer had and sold, the last one first,
// without those that came back.
func SoldBy(ctx context.Context, q db.Querier, customerID int64) ([]Sold, error) {
	rows, err := q.Query(ctx, soldSQL+`where f.now_id = $1 and u.customer_id <> $1
			and s.id = (select max(id) from unit_sold l where l.unit_id = s.unit_id and l.from_customer in (select id from customer where id = $1 or merged_into = $1))
		order by s.id desc`, customerID)
	list, err := db.All[Sold](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read units sold: %w", err)
	}
	return list, nil
}
