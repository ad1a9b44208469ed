package find_test

import (
	"testing"

	"damperdesk/internal/db/dbtest"
)

func TestMain(m *testing.M) { dbtest.Main(m) }
