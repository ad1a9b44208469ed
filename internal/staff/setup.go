package staff

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// crockford is Crockford's base 32: no I, L, O or U.
var crockford = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// asMeant maps what people type to what stands on the paper.
var asMeant = strings.NewReplacer("I", "1", "L", "1", "O", "0", "-", "", " ", "")

// NewSetupCode makes the code that lets the first owner in: 80 random bits as
// 16 characters in groups of four. Any code made before is void. Only its
// SHA-256 is kept.
func NewSetupCode(ctx context.Context, tx pgx.Tx, now time.Time) (string, error) {
	raw := make([]byte, 10)
	rand.Read(raw)
	code := crockford.EncodeToString(raw)
	_, err := tx.Exec(ctx, `insert into setup_code (code_hash, made_at) values ($1, $2)
		on conflict (id) do update set code_hash = excluded.code_hash, made_at = excluded.made_at`, codeHash(code), now)
	if err != nil {
		return "", fmt.Errorf("make setup code: %w", err)
	}
	return strings.Join([]string{code[:4], code[4:8], code[8:12], code[12:]}, "-"), nil
}

// UseSetupCode spends the code. It may be typed in any case and grouping, with
// I or L for 1 and O for 0.
func UseSetupCode(ctx context.Context, tx pgx.Tx, by history.By, code string) error {
	tag, err := tx.Exec(ctx, "delete from setup_code where code_hash = $1", codeHash(code))
	if err != nil {
		return fmt.Errorf("use setup code: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fault.Field("code", "That is not the set-up code, or it has been used.")
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "setup code used"})
}

func codeHash(code string) string {
	sum := sha256.Sum256([]byte(asMeant.Replace(strings.ToUpper(code))))
	return hex.EncodeToString(sum[:])
}
