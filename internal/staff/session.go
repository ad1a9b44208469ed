package staff

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// SessionStore keeps what signed-in browsers are remembered by. Tokens come
// hashed: the session manager must have HashTokenInStore set. Whether a row
// has expired goes by the database's clock.
type SessionStore struct {
	Pool *pgxpool.Pool
}

var _ scs.CtxStore = SessionStore{}

// FindCtx returns found false for a session that has expired.
func (s SessionStore) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	err = s.Pool.QueryRow(ctx, "select data from session where token_hash = $1 and expires_at > now()", token).Scan(&data)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, fmt.Errorf("find session: %w", err)
	}
	return data, true, nil
}

func (s SessionStore) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	_, err := s.Pool.Exec(ctx, `insert into session (token_hash, data, expires_at) values ($1, $2, $3)
		on conflict (token_hash) do update set data = excluded.data, expires_at = excluded.expires_at`, token, data, expiry)
	if err != nil {
		return fmt.Errorf("keep session: %w", err)
	}
	return nil
}

func (s SessionStore) DeleteCtx(ctx context.Context, token string) error {
	if _, err := s.Pool.Exec(ctx, "delete from session where token_hash = $1", token); err != nil {
		return fmt.Errorf("delete session: %w", err)
	}
	return nil
}

// Find, Commit and Delete complete scs.CtxStore; scs itself calls the forms
// with a context.

func (s SessionStore) Find(token string) (data []byte, found bool, err error) {
	return s.FindCtx(context.Background(), token)
}

func (s SessionStore) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

func (s SessionStore) Delete(token string) error {
	return s.DeleteCtx(context.Background(), token)
}

// PruneSessions deletes the sessions that had expired by now.
func PruneSessions(ctx context.Context, tx pgx.Tx, now time.Time) error {
	if _, err := tx.Exec(ctx, "delete from session where expires_at <= $1", now); err != nil {
		return fmt.Errorf("prune sessions: %w", err)
	}
	return nil
}
