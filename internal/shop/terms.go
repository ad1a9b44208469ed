package shop

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
)

// Terms is one edition of what customers accept at drop-off.
type Terms struct {
	ID    int64
	Words string
	At    time.Time
}

// termsLimit is in characters: about five printed pages.
const termsLimit = 20_000

// CurrentTerms is the newest edition; a shop that has none is a NotFound.
func CurrentTerms(ctx context.Context, q db.Querier) (Terms, error) {
	rows, err := q.Query(ctx, "select id, words, at from terms order by id desc limit 1")
	t, err := db.One[Terms](rows, err, "edition of the terms yet")
	if err != nil {
		return Terms{}, fmt.Errorf("read terms: %w", err)
	}
	return t, nil
}

// SetTerms puts a new edition in force. Earlier ones stay for the visits that
// were taken in under them.
func SetTerms(ctx context.Context, tx pgx.Tx, by history.By, words string) (int64, error) {
	words = strings.TrimSpace(words)
	if words == "" {
		return 0, fault.Field("words", "Write the terms that customers accept.")
	}
	if utf8.RuneCountInString(words) > termsLimit {
		return 0, fault.Field("words", fmt.Sprintf("Keep the terms under %d characters.", termsLimit))
	}
	var id int64
	err := tx.QueryRow(ctx, `insert into terms (words, actor_id, intent_id, at)
		values ($1, nullif($2, 0), $3, $4) returning id`, words, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("set terms: %w", err)
	}
	return id, tell(ctx, tx, by, "terms set", map[string]any{"terms": id})
}
