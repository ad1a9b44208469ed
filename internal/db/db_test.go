package db_test

import (
	"errors"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// The codes are of PostgreSQL, appendix A: lock_not_available,
// serialization_failure, deadlock_detected, and undefined_table, which nobody
// at a form can cause.
func TestWhoComesTooSoonIsToldToTryAgain(t *testing.T) {
	for code, want := range map[string]bool{"55P03": true, "40001": true, "40P01": true, "42P01": false} {
		err := db.Translate(&pgconn.PgError{Code: code})
		if got := errors.As(err, new(fault.Conflict)); got != want {
			t.Errorf("%s becomes %v, a conflict: %v, want %v", code, err, got, want)
		}
	}
}
