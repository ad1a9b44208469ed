// Package db opens the database, keeps its schema current and turns its
// refusals into faults. Everything else about SQL stands beside the feature
// that needs it.
package db

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/fault"
)

// ServeRole is the role the app works under: it may not change or delete rows
// of append-only tables.
const ServeRole = "damperdesk_serve"

// Querier reads: a pool or a transaction.
type Querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
	SendBatch(ctx context.Context, b *pgx.Batch) pgx.BatchResults
}

// Open makes a pool for serving. Where the login may take ServeRole, every
// connection does.
func Open(ctx context.Context, url string) (*pgxpool.Pool, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	cfg.MaxConns = max(cfg.MaxConns, 8)
	cfg.AfterConnect = takeServeRole
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	if err := pool.Ping(ctx); err != nil {
		pool.Close()
		return nil, fmt.Errorf("open database: %w", err)
	}
	return pool, nil
}

func takeServeRole(ctx context.Context, conn *pgx.Conn) error {
	var may bool
	// From PostgreSQL 16 on a member may not take a role unless that was granted.
	err := conn.QueryRow(ctx, `select exists (select from pg_roles where rolname = $1 and pg_has_role(current_user, oid,
		case when current_setting('server_version_num')::int >= 160000 then 'set' else 'member' end))`, ServeRole).Scan(&may)
	if err != nil || !may {
		return err
	}
	_, err = conn.Exec(ctx, "set role "+ServeRole)
	return err
}

// Pool gives transactions: a pool of connections, or in tests one of a clone.
type Pool = pgxpool.Pool

// Read runs fn in one read-only snapshot, for pages that ask several questions.
func Read(ctx context.Context, pool *Pool, fn func(pgx.Tx) error) error {
	opts := pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
	return pgx.BeginTxFunc(ctx, pool, opts, fn)
}

// Write runs fn in a transaction with the time limits of a press of a button.
// A serialization failure or deadlock is tried again, three times in all.
func Write(ctx context.Context, pool *Pool, fn func(pgx.Tx) error) error {
	var err error
	for try := range 3 {
		if err = write(ctx, pool, fn); !mayTryAgain(err) {
			return Translate(err)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Duration(try+1) * 20 * time.Millisecond):
		}
	}
	return Translate(err)
}

func write(ctx context.Context, pool *Pool, fn func(pgx.Tx) error) error {
	return pgx.BeginFunc(ctx, pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "set local lock_timeout = '2s'; set local statement_timeout = '5s'"); err != nil {
			return err
		}
		return fn(tx)
	})
}

func mayTryAgain(err error) bool {
	var pg *pgconn.PgError
	return errors.As(err, &pg) && (pg.Code == "40001" || pg.Code == "40P01")
}

// refusals says in a sentence what each constraint guards against.
var refusals = map[string]error{
	"staff_name_once":                fault.Field("name", "Somebody of that name works here already."),
	"unit_tag_once":                  fault.Field("tag", "Another unit carries that tag number."),
	"unit_model_or_words":            fault.Field("model", "Choose a model or say in your own words what it is."),
	"job_one_open_per_unit":          fault.Conflict("This unit is here already, on an open ticket."),
	"signoff_first":                  fault.Conflict("This step is signed already."),
	"signoff_replaces_once":          fault.Conflict("This step is signed already."),
	"signoff_other_person":           fault.Conflict("The second check is for another person than the one who did the step."),
	"signoff_reason":                 fault.Field("reason", "Say why in a few words."),
	"cross_out_once":                 fault.Conflict("This sign-off is crossed out already."),
	"customer_merged_once":           fault.Conflict("One of the two was merged with somebody else just now; look again."),
	"customer_merge_undone_once":     fault.Conflict("They are taken apart already."),
	"erase_open_job":                 fault.Conflict("One of their jobs is open: end it first."),
	"finding_answer_once":            fault.Conflict("This finding is answered already."),
	"proposal_first":                 fault.Conflict("Somebody else proposed something for it just now; look again."),
	"proposal_over_once":             fault.Conflict("Somebody else proposed something for it just now; look again."),
	"proposal_answer_first":          fault.Conflict("Somebody else kept an answer to this just now; look again."),
	"proposal_said_once":             fault.Conflict("Somebody else kept an answer to this just now; look again."),
	"finding_told_once":              fault.Conflict("It is kept already who was told."),
	"finding_seen_once":              fault.Conflict("That was seen already."),
	"finding_picture_once":           fault.Conflict("That picture is with this finding already."),
	"finding_picture_of_job":         fault.Conflict("That picture is not one of this job’s; take it again."),
	"hold_end_once":                  fault.Conflict("That wait has ended already."),
	"elsewhere_service_once":         fault.Conflict("That service stands in the book already; look again."),
	"hand_over_once":                 fault.Conflict("This job has been handed over already."),
	"bill_line_reverses_once":        fault.Conflict("This line is taken back already."),
	"payment_reverses_once":          fault.Conflict("This payment is taken back already."),
	"tax_rate_version_once":          fault.Conflict("Somebody else changed this tax since you opened it; look again."),
	"hourly_rate_version_once":       fault.Conflict("Somebody else changed the hourly rate since you opened it; look again."),
	"price_version_once":             fault.Conflict("Somebody else changed this price since you opened it; look again."),
	"sheet_step_rank_once":           fault.Conflict("The bench sheet of this job exists already."),
	"sheet_step_key_once":            fault.Conflict("The bench sheet of this job exists already."),
	"stage_change_seq_once":          fault.Conflict("Somebody else moved this job just now; look again."),
	"device_name_once":               fault.Field("name", "Another tablet has that name."),
	"tool_allowed_once":              fault.Conflict("That tool may be used here already."),
	"supplier_name_once":             fault.Field("name", "Another supplier has that name."),
	"item_code_once":                 fault.Field("code", "Another item has that code."),
	"item_barcode_once":              fault.Field("barcode", "Another item has that barcode."),
	"item_supplier_first":            fault.Conflict("Somebody else chose where it is bought just now; look again."),
	"need_once":                      fault.Field("item", "This job has that at that step already."),
	"move_reverses_once":             fault.Conflict("That is taken back already."),
	"purchase_one_draft":             fault.Conflict("Somebody else began a draft for this supplier just now; look again."),
	"delivery_one_open":              fault.Conflict("Somebody else began to unpack this order just now; look again."),
	"tool_name_once":                 fault.Field("name", "Another tool has that name."),
	"model_once":                     fault.Field("name", "That model is in the library already."),
	"document_once":                  fault.Field("title", "That document is on the list already."),
	"block_one_draft":                fault.Conflict("Somebody is at the next revision of this block already; look again."),
	"block_frozen":                   fault.Conflict("That revision is no draft any more and stays as it is; look at the block again."),
	"sheet_one_draft":                fault.Conflict("Somebody is at the next revision of this sheet already; look again."),
	"unit_inside_once":               fault.Conflict("Somebody else changed what is inside since you opened it; look again."),
	"opening_no_overlap":             fault.Field("opening", "Two spans of one day overlap."),
	"sheet_one_current":              fault.Conflict("This model has a current spec sheet already."),
	"sheet_other_person":             fault.Conflict("Another person than the one who wrote the sheet checks it."),
	"sheet_frozen":                   fault.Conflict("This spec sheet is checked already and stays as it is."),
	"sheet_value_once":               fault.Conflict("That value stands on the sheet already."),
	"signoff_replaces":               fault.Conflict("Only a crossed-out sign-off of the same step can be replaced."),
	"interval_rule_once":             fault.Conflict("There is an interval for that service already."),
	"job_ending_when_closed":         fault.Field("ending", "Say how the job ended."),
	"item_model_model_id_fkey":       fault.Field("models", "Choose models of the library."),
	"item_replaced_by_fkey":          fault.Field("replaced_by", "No item has that code."),
	"item_supplier_supplier_id_fkey": fault.Field("supplier", "Choose the supplier."),
	"opened_item_id_batch_id_fkey":   fault.Field("batch", "Choose a batch of this item."),
	"move_item_id_batch_id_fkey":     fault.Field("batch", "Choose a batch of this item."),
	"stock_count_one_open":           fault.Field("place", "That place is being counted already."),
	"move_count_line_once":           fault.Conflict("That count is posted already."),
	"waste_reverses_once":            fault.Conflict("That is taken back already."),
	"waste_pickup_reverses_once":     fault.Conflict("That is taken back already."),
	"book_taken_back_pkey":           fault.Conflict("That is taken back already."),
	"reading_taken_back_pkey":        fault.Conflict("That is taken back already."),
}

// Translate turns a refusal of the database that people can cause into the
// fault that says so; every other error comes back as it is.
func Translate(err error) error {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return err
	}
	if f, ok := refusals[pg.ConstraintName]; ok && pg.ConstraintName != "" {
		return f
	}
	if pg.Code == "55P03" || mayTryAgain(err) {
		return fault.Conflict("Somebody else is changing this just now; try again.")
	}
	return err
}

// One reads exactly one row by name; none at all is a NotFound saying what.
func One[T any](rows pgx.Rows, err error, what string) (T, error) {
	var zero T
	if err != nil {
		return zero, err
	}
	v, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[T])
	if errors.Is(err, pgx.ErrNoRows) {
		return zero, NotThere(what)
	}
	return v, err
}

// NotThere is a row that was asked for and is not there.
func NotThere(what string) error { return fault.NotFound("There is no such " + what + ".") }

// All reads every row by name.
func All[T any](rows pgx.Rows, err error) ([]T, error) {
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[T])
}

// Queue adds a question to a batch, whose answers are read by name into list.
func Queue[T any](b *pgx.Batch, list *[]T, sql string, args ...any) {
	b.Queue(sql, args...).Query(func(rows pgx.Rows) (err error) {
		*list, err = All[T](rows, nil)
		return err
	})
}

// Changed says a versioned row was not as the person saw it when nothing was
// updated.
func Changed(tag pgconn.CommandTag, err error) error {
	if err == nil && tag.RowsAffected() == 0 {
		return fault.Conflict("Somebody else changed this since you opened it; look again.")
	}
	return err
}
