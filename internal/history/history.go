// Package history appends what happened and reads it back. Events hold ids,
// codes and numbers, never names, phone numbers or free words; each is sealed
// at commit into a chain of hashes. Nothing is computed from an event's detail.
package history

import (
	"context"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// By says who does something, when, and under which intent.
type By struct {
	At     time.Time
	Staff  int64 // 0: the program itself
	Roles  []string
	Device int64 // the tablet it is done on; 0: none
	Intent uuid.UUID
}

// Has reports whether the person holds the role: "desk", "mechanic" or "owner".
func (b By) Has(role string) bool { return slices.Contains(b.Roles, role) }

// Event is something that happened to a subject, such as {"job", 12}. The
// customer, unit and job it belongs to are set where known.
type Event struct {
	SubjectKind string
	SubjectID   int64
	Customer    int64
	Unit        int64
	Job         int64
	Kind        string
	Detail      map[string]any
}

// Append adds events to the running transaction, in their order.
func Append(ctx context.Context, tx pgx.Tx, by By, events ...Event) error {
	batch := &pgx.Batch{}
	Queue(batch, by, events...)
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return fmt.Errorf("append to the history: %w", err)
	}
	return nil
}

// Queue is Append among other statements of a batch.
func Queue(batch *pgx.Batch, by By, events ...Event) {
	for _, e := range events {
		if e.Detail == nil {
			e.Detail = map[string]any{}
		}
		batch.Queue(`insert into event
			(at, actor_id, intent_id, subject_kind, subject_id, customer_id, unit_id, job_id, kind, detail)
			values ($1, nullif($2, 0), $3, $4, $5, nullif($6, 0), nullif($7, 0), nullif($8, 0), $9, $10)`,
			by.At, by.Staff, by.Intent, e.SubjectKind, e.SubjectID, e.Customer, e.Unit, e.Job, e.Kind, e.Detail)
	}
}

// Entry is an event as read back, with the names of its actor and of the tablet
// it was done on, and the ticket number.
type Entry struct {
	ID        int64
	At        time.Time
	Actor     string
	Device    string // empty: on no tablet
	Kind      string
	Detail    map[string]any
	JobID     int64 // 0: of no job
	JobNumber int
}

// Scope says whose history is wanted.
type Scope string

// The scopes a history can be read by.
const (
	OfJob      Scope = "job_id"
	OfUnit     Scope = "unit_id"
	OfCustomer Scope = "customer_id"
)

// ids is the SQL of whose events are read: a customer has those of whoever was
// merged into them.
func (s Scope) ids() string {
	if s == OfCustomer {
		return "array(select id from customer where id = $1 or merged_into = $1)"
	}
	return "array[$1::bigint]"
}

// PageSize is how many entries Read returns at most.
const PageSize = 50

// Read returns the newest entries older than the entry before (0: from the
// newest on), newest first, at most PageSize.
func Read(ctx context.Context, q db.Querier, scope Scope, id, before int64) ([]Entry, error) {
	rows, err := q.Query(ctx, `select e.id, e.at, coalesce(s.name, '') as actor, coalesce(d.name, '') as device, e.kind, e.detail,
			coalesce(e.job_id, 0) as job_id, coalesce(j.number, 0) as job_number
		from event e left join staff s on s.id = e.actor_id left join job j on j.id = e.job_id
		join intent i on i.id = e.intent_id left join device d on d.id = i.device_id
		where e.`+string(scope)+` = any (`+scope.ids()+`) and ($2 = 0 or e.id < $2)
		order by e.id desc limit $3`, id, before, PageSize)
	list, err := db.All[Entry](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read history: %w", err)
	}
	return list, nil
}
