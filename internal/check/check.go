// Package check knows what must hold of the data at any moment. Each invariant
// is one query that returns the rows that break it.
package check

import (
	"context"
	"encoding/hex"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
)

// Invariant is a rule and the SQL of its offenders: one text column, a row for
// each.
type Invariant struct {
	Name string
	SQL  string
}

// Finding is one broken rule and what breaks it, at most ten offenders.
type Finding struct {
	Name      string
	Offenders []string
}

// Run asks every invariant and returns those that are broken.
func Run(ctx context.Context, q db.Querier) ([]Finding, error) {
	var found []Finding
	for _, inv := range Invariants {
		rows, err := q.Query(ctx, "select offender::text from ("+inv.SQL+") as o(offender) limit 10")
		if err != nil {
			return nil, fmt.Errorf("check %s: %w", inv.Name, err)
		}
		offenders, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			return nil, fmt.Errorf("check %s: %w", inv.Name, err)
		}
		if len(offenders) > 0 {
			found = append(found, Finding{inv.Name, offenders})
		}
	}
	return found, nil
}

// Head is the newest seal of the history as hexadecimal, with its number.
// Written down elsewhere, it proves later that nothing before it was changed.
func Head(ctx context.Context, q db.Querier) (string, error) {
	var (
		seq  int64
		hash []byte
	)
	err := q.QueryRow(ctx, `select coalesce(max(seq), 0), coalesce((select hash from event_chain order by seq desc limit 1), '')
		from event_chain`).Scan(&seq, &hash)
	if err != nil {
		return "", fmt.Errorf("head of the history: %w", err)
	}
	return fmt.Sprintf("%d %s", seq, hex.EncodeToString(hash)), nil
}
