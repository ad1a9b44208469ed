package customer

import (
	"context"
	"fmt"

	"damperdesk/internal/db"
	"damperdesk/internal/fold"
)

// OfSerial lists the units of a kind with that serial, compared as serials are
// found. Words without a digit, such as "worn off", are no serial and fit none.
func OfSerial(ctx context.Context, q db.Querier, kind, serial string) ([]Unit, error) {
	rows, err := q.Query(ctx, unitSQL+" where u.kind = $1 and u.serial_key = $2 and $2 ~ '[0-9]' order by u.id", kind, fold.Code(serial))
	list, err := db.All[Unit](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read units of a serial: %w", err)
	}
	return list, nil
}

// SameSerial reports whether two serials are the same as they are compared, or
// one of them is not known.
func SameSerial(a, b string) bool {
	x, y := fold.Code(a), fold.Code(b)
	return x == "" || y == "" || x == y
}
