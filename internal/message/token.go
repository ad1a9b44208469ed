package message

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// macBytes are 192 bits, 32 characters of an address.
const macBytes = 24

// ErrNoToken is the one answer to a token of no message, not of this key, or of
// somebody who was erased.
var ErrNoToken = fault.NotFound("This link does not work. Ask the shop what it writes to you.")

// Token is the secret of the address where whoever got a message says what they
// want to be written: its number and an HMAC-SHA256 under the link key, so that
// it works as long as the key and nothing has to be kept.
func Token(key []byte, id int64, kind Kind) string {
	mac := hmac.New(sha256.New, key)
	fmt.Fprintf(mac, "messages wanted %d %s", id, kind)
	return strconv.FormatInt(id, 36) + "-" + base64.RawURLEncoding.EncodeToString(mac.Sum(nil)[:macBytes])
}

// Open is whose message a token was in, and its kind; else ErrNoToken.
func Open(ctx context.Context, q db.Querier, key []byte, token string) (customerID int64, kind Kind, err error) {
	number, _, _ := strings.Cut(token, "-")
	id, err := strconv.ParseInt(number, 36, 64)
	if err != nil {
		return 0, "", ErrNoToken
	}
	err = q.QueryRow(ctx, `select c.now_id, m.kind from message m join customer_now c on c.id = m.customer_id join customer k on k.id = c.now_id
		where m.id = $1 and k.erased_at is null`, id).Scan(&customerID, &kind)
	if errors.Is(err, pgx.ErrNoRows) || err == nil && !hmac.Equal([]byte(token), []byte(Token(key, id, kind))) {
		return 0, "", ErrNoToken
	}
	if err != nil {
		return 0, "", fmt.Errorf("open address of a message: %w", err)
	}
	return customerID, kind, nil
}
