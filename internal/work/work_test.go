package work

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/intent"
)

// TestMain lets the test binary be a server that is killed at its work.
func TestMain(m *testing.M) {
	if where := os.Getenv("DAMPERDESK_TEST_HANGS"); where != "" {
		hang(where, os.Getenv("DATABASE_URL"))
	}
	dbtest.Main(m)
}

// note is a job that writes one event about its subject.
type note struct{ About int64 }

func (note) Kind() string { return "note" }

type noter struct {
	river.WorkerDefaults[note]
	pool          *db.Pool
	inside, after func(context.Context) error // nil: nothing in the way
}

func (n *noter) Work(ctx context.Context, job *river.Job[note]) error {
	err := act(ctx, n.pool, job.JobRow, "note", func(tx pgx.Tx, by history.By) error {
		e := history.Event{SubjectKind: "test", SubjectID: job.Args.About, Kind: "noted"}
		if err := history.Append(ctx, tx, by, e); err != nil || n.inside == nil {
			return err
		}
		return n.inside(ctx)
	})
	if err != nil || n.after == nil {
		return err
	}
	return n.after(ctx)
}

// NextRetry does not let a test wait.
func (n *noter) NextRetry(*river.Job[note]) time.Time { return time.Now().Add(50 * time.Millisecond) }

// atNotes is a crew that takes notes, without the pauses that keep a leader
// from doing everything at once.
func atNotes(t *testing.T, n *noter, log *slog.Logger) *Crew {
	t.Helper()
	workers := river.NewWorkers()
	river.AddWorker(workers, n)
	s := settings(workers, log)
	s.TestOnly = true
	s.SoftStopTimeout = 50 * time.Millisecond
	s.FetchPollInterval = 100 * time.Millisecond
	crew, err := start(context.WithoutCancel(t.Context()), n.pool, s)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stop(t, crew) })
	return crew
}

func stop(t *testing.T, crew *Crew) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := crew.Stop(ctx); err != nil {
		t.Error(err)
	}
}

func add(t *testing.T, pool *db.Pool, crew *Crew, about int64) {
	t.Helper()
	if err := db.Write(t.Context(), pool, func(tx pgx.Tx) error { return crew.Add(t.Context(), tx, note{about}) }); err != nil {
		t.Fatal(err)
	}
}

// wantJobs waits until the jobs are so: state and try of each.
func wantJobs(t *testing.T, pool *db.Pool, want string) {
	t.Helper()
	var got string
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		err := pool.QueryRow(t.Context(), "select coalesce(string_agg(state || ' ' || attempt, ', ' order by id), '') from river.river_job where kind not in ('advise', 'due-scan', 'due-drain', 'mail', 'still-here')").Scan(&got)
		if err != nil {
			t.Fatal(err)
		}
		if got == want {
			return
		}
	}
	t.Fatalf("jobs are %q, want %q", got, want)
}

// wantNotes looks for what was written: the subject of each event.
func wantNotes(t *testing.T, pool *db.Pool, want string) {
	t.Helper()
	var got string
	err := pool.QueryRow(t.Context(), `select coalesce(string_agg(subject_id::text, ', ' order by subject_id), '')
		from event e join intent i on i.id = e.intent_id and i.kind = 'work: note' and i.actor_id is null`).Scan(&got)
	if err != nil || got != want {
		t.Errorf("written are %q, want %q; %v", got, want, err)
	}
}

var quiet = slog.New(slog.DiscardHandler)

// A job is there if the write that asks for it is, under the role of a server.
func TestAJobIsHandedOverWithTheWriteThatAsksForIt(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	crew := atNotes(t, &noter{pool: pool}, quiet)
	broken := errors.New("broken")
	for about, fails := range []error{nil, broken, nil} {
		a := intent.Act{ID: acts, Kind: "test", Fingerprint: []byte{}, At: dbtest.Now}
		a.ID[0] = byte(about)
		_, err := intent.Do(t.Context(), pool, a, func(tx pgx.Tx) (string, error) {
			var role string
			if err := tx.QueryRow(t.Context(), "select current_user").Scan(&role); err != nil || role != db.ServeRole {
				t.Errorf("written under %q, want %s; %v", role, db.ServeRole, err)
			}
			if err := crew.Add(t.Context(), tx, note{int64(about)}); err != nil {
				return "", err
			}
			return "", fails
		})
		if !errors.Is(err, fails) {
			t.Fatal(err)
		}
	}
	wantJobs(t, pool, "completed 1, completed 1")
	wantNotes(t, pool, "0, 2")
}

func TestAJobThatFailsAfterItsActWritesOnce(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	var tried atomic.Int32
	log := &bytes.Buffer{}
	n := &noter{pool: pool, after: func(context.Context) error {
		switch tried.Add(1) {
		case 1:
			return errors.New("the wind")
		case 2:
			panic("a wasp")
		}
		return nil
	}}
	crew := atNotes(t, n, slog.New(slog.NewTextHandler(log, nil)))
	add(t, pool, crew, 7)
	wantJobs(t, pool, "completed 3")
	wantNotes(t, pool, "7")
	stop(t, crew) // nobody writes the log any more
	for _, said := range []string{`error="the wind"`, `panic="a wasp"`, "kind=note job=1 try=1 of=8"} {
		if !strings.Contains(log.String(), said) {
			t.Errorf("the log does not say %s:\n%s", said, log)
		}
	}
}

// Two jobs are two acts, also where River numbers them alike.
func TestEachJobHasActsOfItsOwn(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	for about := range int64(2) {
		crew := atNotes(t, &noter{pool: pool}, quiet)
		add(t, pool, crew, about)
		wantJobs(t, pool, "completed 1")
		stop(t, crew)
		conn, err := pgx.Connect(t.Context(), pool.Config().ConnString())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := conn.Exec(t.Context(), "truncate river.river_job restart identity"); err != nil {
			t.Fatal(err)
		}
		conn.Close(t.Context())
	}
	wantNotes(t, pool, "0, 1")
}

// A stop does not wait for what takes long, and counts no try against it.
func TestWhatAStopCutsOffIsDoneByTheNextServer(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	begun := make(chan struct{})
	long := func(ctx context.Context) error { close(begun); <-ctx.Done(); return ctx.Err() }
	first := atNotes(t, &noter{pool: pool, inside: long}, quiet)
	add(t, pool, first, 3)
	<-begun
	at := time.Now()
	stop(t, first)
	if took := time.Since(at); took > 2*time.Second {
		t.Errorf("the stop took %v", took)
	}
	wantJobs(t, pool, "available 0")
	wantNotes(t, pool, "")
	atNotes(t, &noter{pool: pool}, quiet)
	wantJobs(t, pool, "completed 1")
	wantNotes(t, pool, "3")
}

func TestTheWorkGoesOnWhenConnectionsWereLost(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	crew := atNotes(t, &noter{pool: pool}, quiet)
	add(t, pool, crew, 1)
	wantJobs(t, pool, "completed 1")
	admin, err := pgx.Connect(t.Context(), pool.Config().ConnString())
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close(t.Context())
	var ended int
	err = admin.QueryRow(t.Context(), `select count(pg_terminate_backend(pid)) from pg_stat_activity
		where datname = current_database() and pid <> pg_backend_pid()`).Scan(&ended)
	if err != nil || ended < 2 {
		t.Fatalf("%d connections were ended, %v", ended, err)
	}
	pool.Reset()
	add(t, pool, crew, 2)
	wantJobs(t, pool, "completed 1, completed 1")
	wantNotes(t, pool, "1, 2")
}

// River would make its indexes anew each night, which the serving role may not.
func TestAServerLeavesIndexesAlone(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	workers := river.NewWorkers()
	river.AddWorker(workers, &noter{pool: pool})
	log := &bytes.Buffer{}
	s := settings(workers, slog.New(slog.NewTextHandler(log, nil)))
	s.TestOnly = true
	s.ReindexerSchedule = river.PeriodicInterval(20 * time.Millisecond)
	crew, err := start(context.WithoutCancel(t.Context()), pool, s)
	if err != nil {
		t.Fatal(err)
	}
	add(t, pool, crew, 1)
	wantJobs(t, pool, "completed 1")
	time.Sleep(300 * time.Millisecond)
	stop(t, crew)
	if log.Len() > 0 {
		t.Errorf("the log says\n%s", log)
	}
}

// hang is a server that comes no further inside its act, or after it.
func hang(where, database string) {
	ctx := context.Background()
	pool, err := db.Open(ctx, database)
	if err != nil {
		panic(err)
	}
	stuck := func(context.Context) error { fmt.Println("here"); select {} }
	n := &noter{pool: pool}
	if strings.HasSuffix(where, "inside") {
		n.inside = stuck
	} else {
		n.after = stuck
	}
	workers := river.NewWorkers()
	river.AddWorker(workers, n)
	river.AddWorker(workers, &stuckScanner{pool: pool, inside: n.inside, after: n.after})
	if _, err := start(ctx, pool, settings(workers, quiet)); err != nil {
		panic(err)
	}
	select {}
}

// What a killed server had begun another one does, and what it had written is
// written once. The clocks of the job and of the lead are put back, so that
// nobody has to wait.
func TestWhatAKilledServerHadBegunIsDoneByAnother(t *testing.T) {
	t.Parallel()
	for _, where := range []string{"inside", "after"} {
		t.Run(where+" its act", func(t *testing.T) {
			t.Parallel()
			url := dbtest.URL(t)
			pool, err := db.Open(t.Context(), url)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(pool.Close)
			handing, err := river.NewClient(riverpgxv5.New(pool), &river.Config{Schema: db.WorkSchema})
			if err != nil {
				t.Fatal(err)
			}
			add(t, pool, &Crew{handing}, 5)
			killed(t, where, url)
			wantJobs(t, pool, "running 1")
			_, err = pool.Exec(t.Context(), `update river.river_job set attempted_at = attempted_at - interval '1 hour'`)
			if err == nil {
				_, err = pool.Exec(t.Context(), `update river.river_leader set expires_at = now() - interval '1 second'`)
			}
			if err != nil {
				t.Fatal(err)
			}
			atNotes(t, &noter{pool: pool}, quiet)
			wantJobs(t, pool, "completed 2")
			wantNotes(t, pool, "5")
		})
	}
}

// killed runs a server until it hangs, and kills it there.
func killed(t *testing.T, where, database string) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = []string{"DAMPERDESK_TEST_HANGS=" + where, "DATABASE_URL=" + database, "PATH=" + os.Getenv("PATH")}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	said := make([]byte, 4)
	if _, err := out.Read(said); err != nil || string(said) != "here" {
		t.Fatalf("the server said %q, %v", said, err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	cmd.Wait()
}
