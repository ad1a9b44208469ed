package shop

import (
	"context"
	"errors"
	"fmt"
	"regexp"
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
	By    string // who put it in force; empty: the program itself
	At    time.Time
}

// termsLimit is in characters: about five printed pages.
const termsLimit = 20_000

// termsLock keeps two editions from following the same one.
const termsLock = 471103

// Editions are all terms there have been, the one in force first.
func Editions(ctx context.Context, q db.Querier) ([]Terms, error) {
	rows, err := q.Query(ctx, `select t.id, t.words, coalesce(s.name, '') as by, t.at
		from terms t left join staff s on s.id = t.actor_id order by t.id desc`)
	list, err := db.All[Terms](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read terms: %w", err)
	}
	return list, nil
}

// CurrentTerms is the newest edition; a shop that has none is a NotFound.
func CurrentTerms(ctx context.Context, q db.Querier) (Terms, error) {
	rows, err := q.Query(ctx, `select t.id, t.words, coalesce(s.name, '') as by, t.at
		from terms t left join staff s on s.id = t.actor_id order by t.id desc limit 1`)
	t, err := db.One[Terms](rows, err, "edition of the terms yet")
	if err != nil {
		return Terms{}, fmt.Errorf("read terms: %w", err)
	}
	return t, nil
}

// SetTerms puts a new edition in force after the one with the id over, 0 for
// none; a Conflict when another one is in force. Earlier ones stay for the
// visits that were taken in under them.
func SetTerms(ctx context.Context, tx pgx.Tx, by history.By, over int64, words string) (int64, error) {
	if err := mayRun(by); err != nil {
		return 0, err
	}
	words = strings.TrimSpace(strings.ReplaceAll(words, "\r\n", "\n"))
	if err := checkTerms(words); err != nil {
		return 0, err
	}
	if _, err := tx.Exec(ctx, "select pg_advisory_xact_lock($1)", termsLock); err != nil {
		return 0, fmt.Errorf("set terms: %w", err)
	}
	stands, err := CurrentTerms(ctx, tx)
	if err != nil && !errors.As(err, new(fault.NotFound)) {
		return 0, err
	}
	switch {
	case stands.ID != over:
		return 0, fault.Conflict("Somebody else changed the terms since you opened them; look again.")
	case stands.Words == words:
		return 0, fault.Field("words", "These are the terms in force, word for word.")
	}
	var id int64
	err = tx.QueryRow(ctx, `insert into terms (words, actor_id, intent_id, at)
		values ($1, nullif($2, 0), $3, $4) returning id`, words, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("set terms: %w", err)
	}
	return id, tell(ctx, tx, by, "terms set", map[string]any{"terms": id})
}

func checkTerms(words string) error {
	if words == "" {
		return fault.Field("words", "Write the terms that customers accept.")
	}
	if utf8.RuneCountInString(words) > termsLimit {
		return fault.Field("words", fmt.Sprintf("Keep the terms under %d characters.", termsLimit))
	}
	for _, blank := range draftBlanks {
		if strings.Contains(words, blank) {
			return fault.Field("words", "Fill in or take out "+blank+".")
		}
	}
	return nil
}

// Draft is where a shop without terms may begin. It is no legal advice: what
// stands in brackets must be decided, and the rest held against local law.
const Draft = `1. What we do. We do the services on the ticket. If we find that more is needed, we ask first, unless it stays within the spending limit you gave.

2. Price. The prices on our list hold. If you do not want the extra work, you pay for what was done and for [the fee for stripping and quoting].

3. The day. We do our best to be ready by the day on the ticket. If parts or time run short we tell you as soon as we know.

4. Old parts. Worn parts are thrown away unless you ask for them at drop-off.

5. Fetching it. Please fetch your unit within [how many days] of hearing that it is ready.

6. If something is wrong. Bring it back within [how many weeks] and we look at our work free of charge. Rights that the law gives you stay as they are.

7. Riding. Check air, axle and brakes before the first ride. If it knocks, leaks or loses air, stop riding and bring it back.

8. Your details. We keep your name, how to reach you and what was done to your unit, so that we can do this work and keep its service book.`

// draftBlanks are what Draft leaves open.
var draftBlanks = regexp.MustCompile(`\[[^\]]+\]`).FindAllString(Draft, -1)
