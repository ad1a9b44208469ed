package work

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/picture"
)

// Two hours ago something left so many files without a row.
func leftOver(t *testing.T, files int) *picture.Folder {
	t.Helper()
	dir := t.TempDir()
	folder, err := picture.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { folder.Close() })
	for n := range files {
		name := filepath.Join(dir, fmt.Sprintf("%064x.jpg", n))
		if err := os.WriteFile(name, []byte("left"), 0o600); err != nil {
			t.Fatal(err)
		}
		old := time.Now().Add(-2 * time.Hour)
		if err := os.Chtimes(name, old, old); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// begin starts a server on that database.
func begin(t *testing.T, pool *db.Pool, folder *picture.Folder, log *slog.Logger) *Crew {
	t.Helper()
	crew, err := Start(context.WithoutCancel(t.Context()), pool, folder, Post{}, log)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stop(t, crew) })
	return crew
}

// Many files without a row are somebody's to look at; they are told of once,
// and expired sign-ins go all the same.
func TestTheSweepTellsOfManyFilesAndGoesOn(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	for _, sql := range []string{
		"insert into session (token_hash, data, expires_at) values ('old', '', now())",
		"insert into customer (name, name_key) values ('Odette Marsh', 'odette marsh')",
		"insert into unit (kind, customer_id, model_words) select 'fork', id, 'Tindra Lode' from customer",
		"insert into link (token_hash, purpose, unit_id, made_at, expires_at) select 'hash', 'unit', id, now(), now() + interval '1 day' from unit",
		"insert into link_view (link_id, day, count) select id, current_date - n, 3 from link, unnest(array[740, 700]) n",
	} {
		if _, err := pool.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	log := &bytes.Buffer{}
	crew := begin(t, pool, leftOver(t, 21), slog.New(slog.NewTextHandler(log, nil)))
	wantJobs(t, pool, "completed 1")
	stop(t, crew)
	if n := strings.Count(log.String(), "files of pictures without a row stay"); n != 1 {
		t.Errorf("told %d times:\n%s", n, log)
	}
	var sessions, views int
	err := pool.QueryRow(t.Context(), "select (select count(*) from session), (select count(*) from link_view)").Scan(&sessions, &views)
	if err != nil || sessions != 0 || views != 1 {
		t.Errorf("%d sessions and %d days of views are left, %v; want none, and the one of the last two years", sessions, views, err)
	}
}

// The second of two servers brings the sweep again when it takes the lead, and
// finds that it was done that day.
func TestTheSweepOfADayIsDoneOnce(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	folder := leftOver(t, 0)
	first := begin(t, pool, folder, quiet)
	wantJobs(t, pool, "completed 1")
	begin(t, pool, folder, quiet)
	stop(t, first)
	var brought, jobs, days, swept int
	for end := time.Now().Add(20 * time.Second); brought < 8 && time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		// A number is used up also where the job falls away.
		if err := pool.QueryRow(t.Context(), "select last_value from river.river_job_id_seq").Scan(&brought); err != nil {
			t.Fatal(err)
		}
	}
	err := pool.QueryRow(t.Context(), `select count(*), count(distinct date_trunc('day', created_at at time zone 'UTC')),
		(select count(*) from intent where kind = 'work: sweep pictures') from river.river_job where kind = 'sweep'`).Scan(&jobs, &days, &swept)
	if err != nil || brought < 8 || jobs != days || swept != days {
		t.Errorf("brought %d times, on %d days: %d jobs, swept %d times; %v", brought, days, jobs, swept, err)
	}
}
