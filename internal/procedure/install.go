package procedure

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
)

// installLock keeps two servers that start at once from installing twice.
const installLock = 471101

// Install brings the shipped blocks and services into the database, any number
// of times. A shipped block becomes current only when it is newer than every
// shipped one that is there; the one before it becomes past. What the shop has
// changed, block or service, stays as the shop has it.
func Install(ctx context.Context, tx pgx.Tx, by history.By) error {
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock($1)", installLock); err != nil {
		return fmt.Errorf("install procedures: %w", err)
	}
	blocks, services := Shipped()
	for _, b := range blocks {
		if err := installBlock(ctx, tx, by, b); err != nil {
			return fmt.Errorf("install block %s: %w", b.Code, err)
		}
	}
	for i, s := range services {
		if err := installService(ctx, tx, s, i+1); err != nil {
			return fmt.Errorf("install service %s: %w", s.Code, err)
		}
	}
	return nil
}

// installBlock brings a shipped text that is newer than every one there. Beside a
// revision of the shop's own it waits, offered; an older offer goes.
func installBlock(ctx context.Context, tx pgx.Tx, by history.By, b Block) error {
	var newest int
	err := tx.QueryRow(ctx, "select coalesce(max(shipped), 0) from block where code = $1", b.Code).Scan(&newest)
	if err != nil || newest >= b.Revision {
		return err
	}
	now, err := absent(InState(ctx, tx, b.Code, StateCurrent))
	if err != nil {
		return err
	}
	state, gone, kind := StateCurrent, StateCurrent, "block installed"
	if now.ID != 0 && now.Shipped == 0 {
		state, gone, kind = StateOffered, StateOffered, "block offered"
	}
	if _, err := tx.Exec(ctx, "update block set state = 'past' where code = $1 and state = $2", b.Code, gone); err != nil {
		return err
	}
	id, err := insertRevision(ctx, tx, by, Revision{Block: b, State: state, Shipped: b.Revision})
	if err != nil {
		return err
	}
	if err := insertSteps(ctx, tx, id, b.Steps); err != nil {
		return err
	}
	return history.Append(ctx, tx, by, history.Event{
		SubjectKind: "shop", SubjectID: 1, Kind: kind,
		Detail: map[string]any{"block": b.Code, "revision": b.Revision},
	})
}

func insertSteps(ctx context.Context, tx pgx.Tx, blockID int64, steps []Step) error {
	batch := &pgx.Batch{}
	for i, s := range steps {
		batch.Queue(`insert into step (block_id, seq, key, kind, title, text, caution, place, spec_key,
				grades, grp, stop_here, second_check, may_be_unknown, minutes, fasteners, conditions, tools, parts)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)`,
			blockID, i+1, s.Key, s.Kind, s.Title, s.Text, s.Caution, s.Place, s.SpecKey,
			list(s.Grades), s.Group, s.StopHere, s.SecondCheck, s.MayBeUnknown, s.Minutes, max(1, s.Fasteners), list(s.Conditions), s.Tools, s.Parts)
	}
	return tx.SendBatch(ctx, batch).Close()
}

func installService(ctx context.Context, tx pgx.Tx, s Service, seq int) error {
	_, err := tx.Exec(ctx, `insert into service (code, name, kinds, blocks, covers, seq) values ($1, $2, $3, $4, $5, $6)
		on conflict (code) do update
		set name = excluded.name, kinds = excluded.kinds, blocks = excluded.blocks, covers = excluded.covers, seq = excluded.seq
		where service.version = 1`, s.Code, s.Name, s.Kinds, s.Blocks, list(s.Covers), seq)
	return err
}

// list is never nil: the columns refuse null.
func list(words []string) []string {
	if words == nil {
		return []string{}
	}
	return words
}
