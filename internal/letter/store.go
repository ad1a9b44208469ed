package letter

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/message"
)

// Template is the words of a kind as they stand.
type Template struct {
	Kind message.Kind
	Words
	Version int // 0: those that come with the program
	By      string
	At      time.Time
}

// Templates are those of every kind that goes to customers, in their order.
func Templates(ctx context.Context, q db.Querier) ([]Template, error) {
	rows, err := q.Query(ctx, `select t.kind, t.subject, t.body, t.version, coalesce(s.name, '') as by, t.at
		from message_template t left join staff s on s.id = t.actor_id`)
	own, err := db.All[Template](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read words of messages: %w", err)
	}
	var list []Template
	for _, kind := range message.Kinds {
		t := Template{Kind: kind, Words: Shipped(kind)}
		if i := slices.IndexFunc(own, func(o Template) bool { return o.Kind == kind }); i >= 0 {
			t = own[i]
		}
		list = append(list, t)
	}
	return list, nil
}

// Get reads the words of one kind.
func Get(ctx context.Context, q db.Querier, kind message.Kind) (Template, error) {
	list, err := Templates(ctx, q)
	if err != nil {
		return Template{}, err
	}
	i := slices.IndexFunc(list, func(t Template) bool { return t.Kind == kind })
	if i < 0 {
		return Template{}, fault.NotFound("There is no such kind of message.")
	}
	return list[i], nil
}

// Set puts the shop's words in force over the version that was read. The fields
// are subject and body.
func Set(ctx context.Context, tx pgx.Tx, by history.By, t Template) error {
	t.Subject, t.Body = strings.TrimSpace(t.Subject), strings.Join(lines(strings.TrimSpace(t.Body)), "\n")
	if wrong := t.Check(t.Kind); len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	sql := `insert into message_template (kind, subject, body, version, actor_id, at) select $1, $2, $3, 1, nullif($4, 0::bigint), $5 where $6 = 0
		on conflict (kind) do nothing`
	if t.Version != 0 {
		sql = `update message_template set subject = $2, body = $3, version = version + 1, actor_id = nullif($4, 0::bigint), at = $5
			where kind = $1 and version = $6`
	}
	return change(ctx, tx, by, t.Kind, "words of messages set", sql, t.Kind, t.Subject, t.Body, by.Staff, by.At, t.Version)
}

// Back goes back to the words that come with the program.
func Back(ctx context.Context, tx pgx.Tx, by history.By, kind message.Kind, version int) error {
	return change(ctx, tx, by, kind, "words of messages taken back", "delete from message_template where kind = $1 and version = $2", kind, version)
}

func change(ctx context.Context, tx pgx.Tx, by history.By, kind message.Kind, event, sql string, args ...any) error {
	if !by.Has("owner") {
		return fault.Forbidden("The words of messages are set by an owner.")
	}
	if err := db.Changed(tx.Exec(ctx, sql, args...)); err != nil {
		return fmt.Errorf("%s: %w", event, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: event, Detail: map[string]any{"kind": kind}})
}
