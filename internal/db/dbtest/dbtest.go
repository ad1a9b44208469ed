// Package dbtest gives tests a real PostgreSQL: transactions that are rolled
// back, and clones of the migrated database where a test must commit.
//
// A package that uses it has
//
//	func TestMain(m *testing.M) { dbtest.Main(m) }
package dbtest

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/check"
	"damperdesk/internal/db"
	"damperdesk/internal/history"
)

// Now is the moment tests happen at: a Tuesday, 14:12 in London.
var Now = time.Date(2026, 10, 13, 13, 12, 0, 0, time.UTC)

// databases is what one test process has made on its server.
type databases struct {
	server   server
	template string // migrated, never connected to again, so that it can be cloned
	shared   *pgxpool.Pool
	made     []string
	mu       sync.Mutex
}

var (
	once  sync.Once
	all   *databases
	fail  error
	count atomic.Int64
	inUse bool
)

// Main runs the tests of a package and takes the server down behind them.
func Main(m *testing.M) {
	inUse = true
	code := m.Run()
	if all != nil {
		all.close()
	}
	os.Exit(code)
}

func prepared(tb testing.TB) *databases {
	tb.Helper()
	if !inUse {
		tb.Fatal("dbtest: the package needs func TestMain(m *testing.M) { dbtest.Main(m) }")
	}
	once.Do(func() { all, fail = prepare(context.Background()) })
	if fail != nil {
		tb.Fatal(fail)
	}
	return all
}

func prepare(ctx context.Context) (*databases, error) {
	s, err := start(ctx)
	if err != nil {
		return nil, err
	}
	d := &databases{server: s, template: newName()}
	if err := d.admin(ctx, "create database "+d.template); err != nil {
		return nil, err
	}
	d.made = append(d.made, d.template)
	template, err := s.inDatabase(d.template)
	if err != nil {
		return nil, err
	}
	if err := db.Migrate(ctx, template); err != nil {
		return nil, err
	}
	address, err := d.clone(ctx)
	if err != nil {
		return nil, err
	}
	d.shared, err = db.Open(ctx, address)
	return d, err
}

func newName() string {
	return "damperdesk_test_" + strconv.Itoa(os.Getpid()) + "_" + strconv.FormatInt(count.Add(1), 10)
}

func (d *databases) admin(ctx context.Context, sql string) error {
	conn, err := pgx.Connect(ctx, d.server.url)
	if err != nil {
		return fmt.Errorf("test database: %w", err)
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, sql)
	return err
}

func (d *databases) clone(ctx context.Context) (address string, err error) {
	name := newName()
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.admin(ctx, "create database "+name+" template "+d.template+" strategy file_copy"); err != nil {
		return "", fmt.Errorf("clone test database: %w", err)
	}
	d.made = append(d.made, name)
	return d.server.inDatabase(name)
}

func (d *databases) close() {
	if d.shared != nil {
		d.shared.Close()
	}
	if os.Getenv("DAMPERDESK_TEST_DATABASE_URL") != "" {
		for _, name := range d.made {
			d.admin(context.Background(), "drop database if exists "+name+" with (force)")
		}
	}
	if err := d.server.stop(); err != nil {
		fmt.Fprintln(os.Stderr, "stop test database:", err)
	}
}

// Tx is a transaction under the serving role. Its deferred constraints are
// checked at the end of the test, then it is rolled back.
func Tx(tb testing.TB) pgx.Tx {
	tb.Helper()
	ctx := context.Background()
	tx, err := prepared(tb).shared.Begin(ctx)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		defer tx.Rollback(ctx)
		if tb.Failed() {
			return
		}
		if _, err := tx.Exec(ctx, "set constraints all immediate"); err != nil && !strings.Contains(err.Error(), "current transaction is aborted") {
			tb.Errorf("constraints at the end of the test: %v", err)
		}
	})
	return tx
}

// URL is the address of a database of the test's own, migrated and empty, for
// a login that may migrate. Invariants are checked when the test ends.
func URL(tb testing.TB) string {
	tb.Helper()
	ctx := context.Background()
	address, err := prepared(tb).clone(ctx)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { checkInvariants(tb, address) })
	return address
}

// EmptyURL is the address of a database of the test's own without a schema.
func EmptyURL(tb testing.TB) string {
	tb.Helper()
	d := prepared(tb)
	name := newName()
	if err := d.admin(context.Background(), "create database "+name); err != nil {
		tb.Fatal(err)
	}
	d.mu.Lock()
	d.made = append(d.made, name)
	d.mu.Unlock()
	address, err := d.server.inDatabase(name)
	if err != nil {
		tb.Fatal(err)
	}
	return address
}

// Clone is a pool on a database of the test's own, for tests that commit.
func Clone(tb testing.TB) *pgxpool.Pool {
	tb.Helper()
	pool, err := db.Open(context.Background(), URL(tb))
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(pool.Close)
	return pool
}

func checkInvariants(tb testing.TB, address string) {
	tb.Helper()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		tb.Errorf("check after the test: %v", err)
		return
	}
	defer conn.Close(ctx)
	found, err := check.Run(ctx, conn)
	if err != nil {
		tb.Errorf("check after the test: %v", err)
	}
	for _, f := range found {
		tb.Errorf("broken after the test: %s: %v", f.Name, f.Offenders)
	}
}

// By is an act of a new member of staff with these roles, at Now. Its intent
// is claimed and answered.
func By(tb testing.TB, tx pgx.Tx, roles ...string) history.By {
	tb.Helper()
	ctx := context.Background()
	var id int64
	name := "Somebody " + strconv.FormatInt(count.Add(1), 10)
	err := tx.QueryRow(ctx, "insert into staff (name, roles, passphrase_hash) values ($1, $2, 'none') returning id", name, roles).Scan(&id)
	if err != nil {
		tb.Fatal(err)
	}
	return Act(tb, tx, history.By{At: Now, Staff: id, Roles: roles})
}

// Act is another act of the same person, under an intent of its own.
func Act(tb testing.TB, tx pgx.Tx, by history.By) history.By {
	tb.Helper()
	by.Intent = uuid.New()
	_, err := tx.Exec(context.Background(), `insert into intent (id, kind, actor_id, fingerprint, answer, at)
		values ($1, 'test', nullif($2, 0), '', '/', $3)`, by.Intent, by.Staff, by.At)
	if err != nil {
		tb.Fatal(err)
	}
	return by
}
