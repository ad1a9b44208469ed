package demo

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
	"damperdesk/internal/picture"
	"damperdesk/internal/procedure"
	"damperdesk/internal/staff"
)

func TestMain(m *testing.M) {
	staff.Thrifty()
	dbtest.Main(m)
}

var key = []byte("the demo's key of thirty-two bytes and more")

// installed is a database with what the program brings. It is checked when
// the test ends.
func installed(t *testing.T) *pgxpool.Pool {
	t.Helper()
	pool := dbtest.Clone(t)
	err := db.Write(t.Context(), pool, func(tx pgx.Tx) error {
		by := dbtest.Act(t, tx, history.By{At: dbtest.Now})
		if err := procedure.Install(t.Context(), tx, by); err != nil {
			return err
		}
		return interval.Install(t.Context(), tx, by)
	})
	if err != nil {
		t.Fatal(err)
	}
	return pool
}

func seeded(t *testing.T, pool *pgxpool.Pool, now time.Time) Shop {
	t.Helper()
	begin := time.Now()
	s, err := Seed(t.Context(), pool, folder(t), key, now)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("seeded in %v", time.Since(begin).Round(time.Millisecond))
	return s
}

func ask[T any](t *testing.T, q db.Querier, sql string, args ...any) T {
	t.Helper()
	var v T
	if err := q.QueryRow(t.Context(), sql, args...).Scan(&v); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return v
}

// content is what people see, without ids, which depend on who came first.
const content = `select encode(sha256(convert_to(string_agg(line, '|' order by line), 'UTF8')), 'hex') from (
	select concat_ws(' ', j.number, j.stage, j.ending, j.hangs_at, j.opened_at, j.started_at, j.ready_at, j.closed_at,
		t.key, o.entered, o.count, o.grade, o.reason, o.at, p.name) as line
	from job j left join sheet_step t on t.job_id = j.id left join signoff o on o.step_id = t.id left join staff p on p.id = o.actor_id
	union all select concat_ws(' ', j.number, f.grade, f.cause, f.words, f.at, a.kind, a.words, a.at)
	from finding f join job j on j.id = f.job_id left join finding_answer a on a.finding_id = f.id) l`

// folder is one for the pictures of a test.
func folder(t *testing.T) *picture.Folder {
	t.Helper()
	f, err := picture.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func TestSeed(t *testing.T) {
	whole, broken := installed(t), installed(t)
	shop := seeded(t, whole, dbtest.Now)
	t.Run("there is everything to look at", func(t *testing.T) { hasEverything(t, whole, shop) })
	t.Run("the board is alive", func(t *testing.T) { boardIsAlive(t, whole, shop, dbtest.Now) })

	later := dbtest.Now.Add(26 * time.Hour)
	t.Run("a second time changes nothing", func(t *testing.T) {
		events := ask[int](t, whole, "select count(*) from event")
		if again := seeded(t, whole, later); again != shop {
			t.Errorf("got %+v, want %+v", again, shop)
		}
		if n := ask[int](t, whole, "select count(*) from event"); n != events {
			t.Errorf("%d events, want the %d there were", n, events)
		}
	})
	t.Run("one that was broken off ends as it would have, a day later", func(t *testing.T) {
		breakOff(t, broken)
		seeded(t, broken, later)
		if a, b := ask[string](t, broken, content), ask[string](t, whole, content); a != b {
			t.Error("the two shops differ")
		}
	})
}

// breakOff seeds until some jobs are there.
func breakOff(t *testing.T, pool *pgxpool.Pool) {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() {
		_, err := Seed(ctx, pool, folder(t), key, dbtest.Now)
		ended <- err
	}()
	for ask[int](t, pool, "select count(*) from job where closed_at is not null") < 5 {
		time.Sleep(10 * time.Millisecond)
	}
	stop()
	if err := <-ended; err == nil {
		t.Error("the seeding came to its end")
	}
}

func hasEverything(t *testing.T, pool *pgxpool.Pool, shop Shop) {
	t.Helper()
	for _, c := range []struct {
		what, sql   string
		least, most int
	}{
		{"customers", "select count(*) from customer", 35, 35},
		{"units", "select count(*) from unit where kind <> 'seatpost'", 49, 49},
		{"models", "select count(*) from model", 8, 8},
		{"makers", "select count(distinct maker) from model", 3, 3},
		{"coil forks", "select count(*) from model where spring = 'coil'", 1, 1},
		{"units in own words", "select count(*) from unit where model_id is null and kind <> 'seatpost'", 1, 1},
		{"current spec sheets", "select count(*) from sheet where state = 'current'", 8, 8},
		{"messages that were told", "select count(*) from message where why = 'told by voice' and told_at <= timestamptz '2026-10-13 13:12:00Z'", 50, 400},
		{"messages that wait", "select count(*) from message where state = 'waiting' and not_before <= timestamptz '2026-10-13 13:12:00Z'", 3, 30},
		{"old messages that wait", "select count(*) from message where state = 'waiting' and not_before < timestamptz '2026-10-13 13:12:00Z' - interval '3 days'", 0, 0},
		{"customers who want more", "select count(distinct customer_id) from consent", 12, 30},
		{"people", "select count(*) from staff", 5, 5},
		{"people with a PIN", "select count(*) from staff where pin_hash is not null", 5, 5},
		{"sign-offs on no tablet", "select count(*) from signoff o join intent i on i.id = o.intent_id where i.device_id is null", 0, 0},
		{"closed jobs", "select count(*) from job where closed_at is not null", 160, 230},
		{"closed jobs of half a year", "select count(*) from job where closed_at > timestamptz '2026-10-13 13:12:00Z' - interval '26 weeks'", 100, 180},
		{"jobs that waited for parts", "select count(distinct h.job_id) from hold h join job j on j.id = h.job_id where j.closed_at is not null", 4, 30},
		{"jobs that ended otherwise", "select count(*) from job where ending <> 'done'", 1, 8},
		{"open jobs", "select count(*) from job where closed_at is null", 12, 24},
		{"past seasons", "select count(distinct date_trunc('year', opened_at)) from job where closed_at is not null", 2, 3},
		{"air-spring services done", "select count(*) from job j join job_service o on o.job_id = j.id and o.service_code = 'air-spring' where ending = 'done'", 1, 20},
		{"air springs apart on the bench", `select count(*) from job j join job_service o on o.job_id = j.id and o.service_code = 'air-spring'
			where stage = 'on the bench' and exists (select from sheet_step s join signoff g on g.step_id = s.id where s.job_id = j.id and s.key = 'P5')
			and exists (select from sheet_step s where s.job_id = j.id and s.key = 'P9' and s.source <> '')`, 1, 1},
		{"a damper of shared oil apart", "select count(*) from sheet_step s join signoff o on o.step_id = s.id where s.key = 'D1.8'", 1, 1},
		{"a full service at its cartridge", "select count(*) from sheet_step s join signoff o on o.step_id = s.id where s.key = 'D2.6'", 1, 1},
		{"an air can off its shock", "select count(*) from sheet_step s join signoff o on o.step_id = s.id where s.key = 'K9'", 1, 1},
		{"a full service in the queue", "select count(*) from job j join job_service o on o.job_id = j.id and o.service_code = 'full' where stage = 'in the queue'", 1, 1},
		{"sign-offs crossed out", "select count(*) from cross_out", 2, 30},
		{"sign-offs outside the window, with a reason", "select count(*) from signoff where not in_window and reason <> ''", 2, 30},
		{"unknown readings", "select count(*) from signoff where outcome = 'unknown'", 1, 30},
		{"findings of the four grades", "select count(distinct grade) from finding", 4, 4},
		{"what stands on finished work", "select count(*) from finding f join job j on j.id = f.job_id where j.closed_at is not null and not exists (select from finding_answer a where a.finding_id = f.id)", 5, 60},
		{"what stands on open work", "select count(*) from finding f join job j on j.id = f.job_id where j.closed_at is null and not exists (select from finding_answer a where a.finding_id = f.id)", 4, 10},
		{"what was not to be ridden, and put right", "select count(*) from finding f join finding_answer a on a.finding_id = f.id where grade = 'do not ride' and kind = 'put right'", 2, 20},
		{"what was withdrawn", "select count(*) from finding_answer where kind = 'withdrawn'", 1, 20},
		{"what happened here", "select count(*) from finding where cause = 'happened here'", 1, 20},
		{"what is to be watched after finished work", `select count(*) from job j join sheet_step s on s.job_id = j.id join signoff o on o.step_id = s.id
			where j.closed_at is not null and s.key = 'V9' and o.grade = 'keep an eye on'`, 1, 20},
		{"booked, to come", "select count(*) from job j join visit v on v.id = j.visit_id where stage = 'booked' and booked_for >= '2026-10-13'", 1, 1},
		{"booked, and never came", "select count(*) from job j join visit v on v.id = j.visit_id where stage = 'booked' and booked_for < '2026-10-13'", 1, 1},
		{"comebacks", "select count(*) from job j join pin p on p.job_id = j.id where comeback_of is not null and closed_at is null", 1, 1},
		{"claims nobody has authorised", "select count(*) from job where payer = 'warranty' and authorised_at is null and closed_at is null", 1, 1},
		{"proposals that say no day", "select count(*) from proposal where ready_on is null or ready_at is null", 0, 0},
		{"drop-offs half filled", "select count(*) from draft", 1, 1},
		{"people with hours of their own", "select count(distinct staff_id) from rota", 2, 2},
		{"people away", "select count(*) from absence", 1, 1},
		{"anything dated later than now", "select count(*) from event where at > '2026-10-13 13:12:00Z'", 0, 0},
	} {
		if n := ask[int](t, pool, c.sql); n < c.least || n > c.most {
			t.Errorf("%s: %d, want %d to %d", c.what, n, c.least, c.most)
		}
	}
	if stage := ask[string](t, pool, "select stage from job where id = $1", shop.BenchJob); stage != job.OnBench {
		t.Errorf("the bench job is %s", stage)
	}
	if visit, err := link.Open(t.Context(), pool, shop.Token, dbtest.Now); err != nil || visit != shop.ReadyVisit {
		t.Errorf("the customer's link opens visit %d, %v; want %d", visit, err, shop.ReadyVisit)
	}
}

// At other hours the board is as alive as while the shop is open.
func TestTheBoardIsAliveWhateverTheHour(t *testing.T) {
	for _, now := range []time.Time{
		time.Date(2026, 10, 17, 13, 30, 0, 0, time.UTC), // Saturday, after closing
		time.Date(2027, 1, 5, 10, 5, 0, 0, time.UTC),    // Tuesday, just opened
	} {
		t.Run(now.Format("Mon 15:04"), func(t *testing.T) {
			t.Parallel()
			pool := installed(t)
			boardIsAlive(t, pool, openToday(t, pool, now), now)
		})
	}
}

func boardIsAlive(t *testing.T, pool *pgxpool.Pool, shop Shop, now time.Time) {
	t.Helper()
	rows, err := job.Board(t.Context(), pool, job.BoardFilter{})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, r := range rows {
		seen[r.Stage] = true
		seen[string(r.Remark(now, zone).Kind)] = true
		for _, h := range r.Holds {
			seen[h.Kind] = true
		}
	}
	for _, want := range []string{
		job.DroppedOff, job.Arrived, job.InQueue, job.OnBench, job.FinalCheck, job.Ready,
		job.WaitingOnParts, job.WaitingOnCustomer, job.SentOut,
		string(job.RemarkLate), string(job.RemarkLateWaiting), string(job.RemarkOnTime), string(job.RemarkReady),
	} {
		if !seen[want] {
			t.Errorf("nothing on the board is %s", want)
		}
	}
	next := ask[string](t, pool, `select key from sheet_step s where job_id = $1 and not exists (select from signoff o
		where o.step_id = s.id and not exists (select from cross_out x where x.signoff_id = o.id)) order by rank limit 1`, shop.BenchJob)
	if next != "Z7" {
		t.Errorf("the bench job goes on at %s, want Z7, the foot torque", next)
	}
}

// openToday seeds without the past seasons, which take the time.
func openToday(t *testing.T, pool *pgxpool.Pool, now time.Time) Shop {
	t.Helper()
	s := &seeder{pool: pool, pictures: folder(t), key: key}
	units, err := s.prepare(t.Context(), now)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.calibrate(t.Context(), "lately", s.now.AddDate(0, 0, -20), s.inUse()); err != nil {
		t.Fatal(err)
	}
	if _, err := s.today(t.Context(), units); err != nil {
		t.Fatal(err)
	}
	return seeded(t, pool, now)
}

func TestAShopOfSomebodyElseIsLeftAlone(t *testing.T) {
	pool := installed(t)
	if _, err := pool.Exec(t.Context(), "insert into staff (name, roles, passphrase_hash) values ('Ada', '{owner}', 'none')"); err != nil {
		t.Fatal(err)
	}
	if _, err := Seed(t.Context(), pool, folder(t), key, dbtest.Now); err == nil {
		t.Error("the demo was put into a shop of somebody else")
	}
	if n := ask[int](t, pool, "select count(*) from customer"); n != 0 {
		t.Errorf("%d customers were added", n)
	}
}
