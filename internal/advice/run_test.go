package advice

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

// shelf is a database with a supplier that promises seven days and takes orders on
// Mondays, and what is bought there.
type shelf struct {
	t        *testing.T
	pool     *db.Pool
	by       history.By
	supplier int64
	done     map[string]bool
}

func open(t *testing.T) *shelf {
	t.Helper()
	s := &shelf{t: t, pool: dbtest.Clone(t), done: map[string]bool{}}
	s.write(func(tx pgx.Tx) (err error) {
		s.by = dbtest.By(t, tx, "desk", "owner")
		s.supplier, err = stock.AddSupplier(t.Context(), tx, s.by, stock.Supplier{Name: "Northgate Supply", LeadDays: 7, OrderDays: []int16{1}})
		return err
	})
	return s
}

func (s *shelf) write(do func(pgx.Tx) error) {
	s.t.Helper()
	if err := db.Write(s.t.Context(), s.pool, do); err != nil {
		s.t.Fatal(err)
	}
}

// item had 1000 delivered so many weeks ago and is bought in packs of five.
func (s *shelf) item(code string, weeksAgo int) (id int64) {
	s.t.Helper()
	s.write(func(tx pgx.Tx) (err error) {
		id, err = stock.Add(s.t.Context(), tx, s.by, stock.Details{Code: code, Name: "Part " + code, Kind: "wiper", Measure: stock.Each})
		return err
	})
	s.post(weeksAgo, stock.Posting{Item: id, Kind: stock.Receive, Qty: 1000, Cost: 100_000})
	return id
}

func (s *shelf) sold(item int64) {
	s.t.Helper()
	price := int64(500)
	s.write(func(tx pgx.Tx) error {
		return stock.PutSource(s.t.Context(), tx, s.by, stock.Source{ItemID: item, SupplierID: s.supplier, Pack: 5, PriceMinor: &price})
	})
}

func (s *shelf) post(weeksAgo int, p stock.Posting) (m stock.Move) {
	s.t.Helper()
	s.write(func(tx pgx.Tx) (err error) {
		by := s.by
		by.At = dbtest.Now.AddDate(0, 0, -7*weeksAgo)
		m, err = stock.Post(s.t.Context(), tx, by, p)
		return err
	})
	return m
}

var errCut = errors.New("the server was stopped")

// act does each name once; it is cut off before the one named cut.
func (s *shelf) act(cut string) Act {
	return func(ctx context.Context, name string, do func(pgx.Tx, history.By) error) error {
		if s.done[name] {
			return nil
		}
		if name == cut {
			return errCut
		}
		err := db.Write(ctx, s.pool, func(tx pgx.Tx) error { return do(tx, dbtest.Act(s.t, tx, history.By{At: s.by.At})) })
		s.done[name] = err == nil
		return err
	}
}

func (s *shelf) ask() (run int64, fresh bool) {
	s.t.Helper()
	s.write(func(tx pgx.Tx) (err error) {
		run, fresh, err = Ask(s.t.Context(), tx, s.by)
		return err
	})
	return run, fresh
}

// found is what the newest finished run says, by item.
func (s *shelf) found() map[int64]Item {
	s.t.Helper()
	list, err := Items(s.t.Context(), s.pool)
	if err != nil {
		s.t.Fatal(err)
	}
	found := map[int64]Item{}
	for _, i := range list {
		found[i.ItemID] = i
	}
	return found
}

// Source: R 4.2.2 qpois(0.95, 4.2) = 8, of 2.1 a week over a week's promise and one
// of review; here from the ledger, with a delivery, uses, and one put back.
func TestARunReckonsTheLedger(t *testing.T) {
	s := open(t)
	steady, young, lone := s.item("S", 105), s.item("Y", 6), s.item("L", 105)
	s.sold(steady)
	s.sold(young)
	for w := 1; w <= 105; w++ {
		s.post(w, stock.Posting{Item: steady, Kind: stock.Use, Qty: 2})
	}
	wrong := s.post(30, stock.Posting{Item: steady, Kind: stock.Use, Qty: 90})
	s.write(func(tx pgx.Tx) error {
		_, err := stock.TakeBack(t.Context(), tx, s.by, wrong.ID, "of another shelf")
		return err
	})
	s.post(0, stock.Posting{Item: steady, Kind: stock.Use, Qty: 7}) // the week is not over
	run, fresh := s.ask()
	if again, more := s.ask(); !fresh || again != run || more {
		t.Errorf("asked twice: runs %d and %d, %v", run, again, more)
	}
	if err := Do(t.Context(), s.pool, run, dbtest.Now, time.UTC, s.act("")); err != nil {
		t.Fatal(err)
	}
	found := s.found()
	got := found[steady]
	// qpois(0.95, 4) = 8.
	if got.State != isReckoned || *got.Low != 8 || got.Weeks != 105 || got.Mean != 2 || got.Off != 0 || got.LeadDays != 7 || got.ReviewDays != 7 || got.Class != "A" {
		t.Errorf("%+v", got)
	}
	// An order costs 5.00, holding one of 1.00 a year 0.20: √(2·500·104/20) = 72.1, of
	// which half a year uses 52.
	if *got.High != 8+55 {
		t.Errorf("filled up to %d, want 63", *got.High)
	}
	if y := found[young]; y.State != isSparse || y.KnownWeeks != 6 || y.NeedWeeks != 40 || y.Low != nil {
		t.Errorf("%+v", y)
	}
	if found[lone].State != noSource {
		t.Errorf("%+v", found[lone])
	}
	newest, finished, err := Last(t.Context(), s.pool)
	if err != nil || newest.ID != run || finished.ID != run || newest.Done != 3 || *newest.Total != 3 || newest.Open() {
		t.Errorf("%+v, %+v, %v", newest, finished, err)
	}
}

// What was committed is not done again, what was not is; the run before counts until
// then.
func TestARunGoesOnWhereItWasCutOff(t *testing.T) {
	s := open(t)
	ids := make([]int64, atOnce+5)
	s.write(func(tx pgx.Tx) error {
		for i := range ids {
			var err error
			if ids[i], err = stock.Add(t.Context(), tx, s.by, stock.Details{Code: fmt.Sprint("P", i), Name: "Part", Kind: "wiper", Measure: stock.Each}); err != nil {
				return err
			}
		}
		return nil
	})
	run, _ := s.ask()
	cut := fmt.Sprint("advice: from item ", ids[atOnce])
	if err := Do(t.Context(), s.pool, run, dbtest.Now, time.UTC, s.act(cut)); !errors.Is(err, errCut) {
		t.Fatalf("not cut off: %v", err)
	}
	newest, finished, err := Last(t.Context(), s.pool)
	if err != nil || newest.Done != atOnce || !newest.Open() || finished.ID != 0 || len(s.found()) != 0 {
		t.Errorf("half way: %+v, %+v, %v", newest, finished, err)
	}
	for range 2 {
		if err := Do(t.Context(), s.pool, run, dbtest.Now, time.UTC, s.act("")); err != nil {
			t.Fatal(err)
		}
	}
	if found := s.found(); len(found) != len(ids) {
		t.Errorf("%d of %d items", len(found), len(ids))
	}
	s.done = map[string]bool{}
	next, fresh := s.ask()
	if err := Do(t.Context(), s.pool, next, dbtest.Now, time.UTC, s.act("")); err != nil || !fresh {
		t.Fatal(err, fresh)
	}
	var runs int
	if err := s.pool.QueryRow(t.Context(), "select count(distinct run_id) from advice").Scan(&runs); err != nil || runs != 1 {
		t.Errorf("%d runs are kept, %v", runs, err)
	}
	// A run that never ended gives way.
	stuck, _ := s.ask()
	s.by.At = s.by.At.Add(givenUp + time.Minute)
	if after, fresh := s.ask(); after == stuck || !fresh {
		t.Error("a run that was given up is waited for")
	}
}

func TestWhatTheShopWantsOfItsShelf(t *testing.T) {
	s := open(t)
	set := func(v Setting, roles ...string) error {
		by := s.by
		by.Roles = roles
		return db.Write(t.Context(), s.pool, func(tx pgx.Tx) error { return SetSetting(t.Context(), tx, by, v) })
	}
	v, err := GetSetting(t.Context(), s.pool)
	if err != nil || v != Usual() {
		t.Fatal(v, err)
	}
	v.ServiceC = 80
	if set(v, "mechanic") == nil {
		t.Error("a mechanic set it")
	}
	if err := set(v, "owner"); err != nil {
		t.Fatal(err)
	}
	if set(v, "owner") == nil {
		t.Error("set twice over one version")
	}
	if v, err = GetSetting(t.Context(), s.pool); err != nil || v.ServiceC != 80 || v.Version != 1 {
		t.Error(v, err)
	}
	v.ServiceA = 100
	if set(v, "owner") == nil {
		t.Error("never to run out is no level")
	}
}
