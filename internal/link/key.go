package link

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
)

// mark tells one key from another and gives neither away: 32 hexadecimal
// digits of an HMAC-SHA256 under the key.
func mark(key []byte) string {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte("mark of the link key"))
	return hex.EncodeToString(mac.Sum(nil)[:16])
}

// IsShops reports whether key is the shop's. The first key that is ever asked
// about becomes it, so of two servers that begin with different keys one hears
// of it.
func IsShops(ctx context.Context, tx pgx.Tx, key []byte) (bool, error) {
	if len(key) < MinKey {
		return false, errShortKey
	}
	var same bool
	_, err := tx.Exec(ctx, "insert into link_key (mark) values ($1) on conflict do nothing", mark(key))
	if err == nil {
		err = tx.QueryRow(ctx, "select mark = $1 from link_key", mark(key)).Scan(&same)
	}
	if err != nil {
		return false, fmt.Errorf("compare the link key: %w", err)
	}
	return same, nil
}

// Adopt makes key the shop's in place of one that is lost. Links that were
// made under that one still open, but cannot be shown any more.
func Adopt(ctx context.Context, tx pgx.Tx, by history.By, key []byte) error {
	if len(key) < MinKey {
		return errShortKey
	}
	_, err := tx.Exec(ctx, "insert into link_key (mark) values ($1) on conflict (id) do update set mark = excluded.mark", mark(key))
	if err != nil {
		return fmt.Errorf("adopt the link key: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "link key adopted"})
}
