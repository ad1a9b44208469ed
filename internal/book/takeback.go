package book

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
)

// ReadIn is a service book that was read into the book of a unit.
type ReadIn struct {
	ID       int64
	Act      string // that its services and ride hours carry
	At       time.Time
	By       string
	Shops    []string // that did its services
	Services int
	Hours    int // notes of ride hours
	// BackAt is when it was taken back, BackBy by whom, BackWhy says why; nil where
	// it stands.
	BackAt  *time.Time
	BackBy  string
	BackWhy string
}

// ReadIns lists the service books that brought anything to a unit, the last first.
func ReadIns(ctx context.Context, q db.Querier, unitID int64) ([]ReadIn, error) {
	rows, err := q.Query(ctx, `select * from (
		select e.id, e.intent_id::text as act, e.at, coalesce(s.name, '') as by,
			array(select distinct shop from elsewhere_service x where x.unit_id = e.unit_id and x.intent_id = e.intent_id order by shop) as shops,
			(select count(*) from elsewhere_service x where x.unit_id = e.unit_id and x.intent_id = e.intent_id) as services,
			(select count(*) from hour_reading r where r.unit_id = e.unit_id and r.intent_id = e.intent_id) as hours,
			b.at as back_at, coalesce(o.name, '') as back_by, coalesce(b.reason, '') as back_why
		from event e left join staff s on s.id = e.actor_id
		left join book_taken_back b on b.read_in = e.intent_id left join staff o on o.id = b.actor_id
		where e.unit_id = $1 and e.kind = $2) l where services + hours > 0 order by id desc`, unitID, readIn)
	list, err := db.All[ReadIn](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list books read in of unit %d: %w", unitID, err)
	}
	return list, nil
}

// readIn is the event of a service book that was read in.
const readIn = "service book read in"

// mostWhy is how many letters it may take to say why a book was a mistake.
const mostWhy = 500

// TakeBack takes back a service book that was read in by mistake, such as that of
// another unit: its services and ride hours stay to be seen, and count for nothing
// from then on. A unit that was made for it stays. Fields of fault.Invalid are
// "which" and "why"; one that was taken back before is a Conflict.
func TakeBack(ctx context.Context, tx pgx.Tx, by history.By, unitID, id int64, why string) error {
	if err := mayRead(by); err != nil {
		return err
	}
	of, why, err := mistaken(ctx, tx, unitID, id, why)
	if err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, `insert into book_taken_back (read_in, unit_id, reason, actor_id, intent_id, at)
		values ($1, $2, $3, nullif($4, 0::bigint), $5, $6)`, of.Act, unitID, why, by.Staff, by.Intent, by.At); err != nil {
		return fmt.Errorf("take back a service book: %w", db.Translate(err))
	}
	if err := interval.TakeBackAct(ctx, tx, by, unitID, of.Act, why); err != nil {
		return err
	}
	var customer int64
	if err := tx.QueryRow(ctx, "select customer_id from unit where id = $1", unitID).Scan(&customer); err != nil {
		return fmt.Errorf("take back a service book: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "unit", SubjectID: unitID, Customer: customer, Unit: unitID,
		Kind: "service book taken back", Detail: map[string]any{"services": of.Services, "hours": of.Hours}})
}

// mistaken is the book that is meant, and why it was a mistake.
func mistaken(ctx context.Context, q db.Querier, unitID, id int64, why string) (ReadIn, string, error) {
	fields := map[string]string{}
	if id == 0 {
		fields["which"] = "Choose which one."
	}
	if why = strings.TrimSpace(why); why == "" {
		fields["why"] = "Say why it was a mistake."
	} else if utf8.RuneCountInString(why) > mostWhy {
		fields["why"] = fmt.Sprintf("Use at most %d letters.", mostWhy)
	}
	if len(fields) > 0 {
		return ReadIn{}, "", &fault.Invalid{Fields: fields}
	}
	list, err := ReadIns(ctx, q, unitID)
	if err != nil {
		return ReadIn{}, "", err
	}
	for _, r := range list {
		if r.ID == id {
			return r, why, nil
		}
	}
	return ReadIn{}, "", fault.NotFound("No such book was read in here.")
}
