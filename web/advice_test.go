package web

import (
	"context"
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/advice"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// used takes an amount of an item off the shelf in each of the weeks up to now,
// after all of it was delivered.
func (s trade) used(code string, weeks int, qty int64) {
	s.t.Helper()
	s.write(func(tx pgx.Tx, by history.By) error {
		post := func(weeksAgo int, p stock.Posting) error {
			by := by
			by.At = dbtest.Now.AddDate(0, 0, -7*weeksAgo)
			p.Item = s.items[code]
			_, err := stock.Post(context.Background(), tx, by, p)
			return err
		}
		if err := post(weeks, stock.Posting{Kind: stock.Receive, Qty: qty*int64(weeks) + 1, Cost: 1000}); err != nil {
			return err
		}
		for w := weeks; w > 0; w-- {
			if err := post(w, stock.Posting{Kind: stock.Use, Qty: qty}); err != nil {
				return err
			}
		}
		return nil
	})
}

// background does the run that it was handed last.
func (s trade) background() {
	s.t.Helper()
	err := advice.Do(s.t.Context(), s.pool, s.asked[len(s.asked)-1], dbtest.Now, time.UTC, func(ctx context.Context, _ string, do func(pgx.Tx, history.By) error) error {
		return db.Write(ctx, s.pool, func(tx pgx.Tx) error { return do(tx, dbtest.Act(s.t, tx, history.By{At: dbtest.Now})) })
	})
	if err != nil {
		s.t.Fatal(err)
	}
}

// Source: R 4.2.2 qpois(0.95, 8/7*4.2) = 9: 4.2 wipers a week cannot be used, so it is
// five a week over four days' promise and four of review, 5.71: qpois(0.95, 40/7) = 10.
func TestAdviceByWhatWasUsed(t *testing.T) {
	s := trading(t)
	b := s.as(owner)
	wiper := s.items["W-35"]
	s.used("W-35", 80, 5)
	b.get("/orders/advice").want(200).wantWords("#advice-run", "not reckoned yet")
	b.form("/orders/advice", "/orders/advice/reckon").wantTo("/orders/advice")
	b.get("/orders/advice").wantWords("#advice-run", "about to be reckoned")
	if len(s.asked) != 1 {
		t.Fatalf("the background was handed %v", s.asked)
	}
	s.background()
	// It says six to twelve by hand: that counts, and the other stands beside it.
	b.get("/orders/advice").wantWords("tbody", "1 free, 0 on order, ordered below 6, filled up to 12").wantWords("tbody details summary", "By what was used: below 10").
		wantWords("tbody details", "5 a week").wantWords("#advice-run", "Reckoned")
	s.write(func(tx pgx.Tx, by history.By) error {
		i, err := stock.Get(context.Background(), tx, wiper)
		if err != nil {
			return err
		}
		i.Low, i.High = nil, nil
		return stock.Change(context.Background(), tx, by, wiper, i.Version, i.Details)
	})
	b.get("/orders/advice").wantWords("tbody", "1 free, 0 on order, ordered below 10").wantWords("tbody details", "as the supplier promises").wantWords("tbody details", "95 of 100 times")
	field := fmt.Sprint(wiper)
	b.form("/orders/advice", "/orders/advice", "take", field, field+".qty", "20").want(http.StatusSeeOther)
	b.get("/orders/season").want(200).wantWords("main", "of 1 item there is not enough history")
}

func TestWhatTheShelfIsToBeLike(t *testing.T) {
	s := server(t)
	b := s.as(owner)
	fields := []string{"service_a", "98", "service_b", "95", "service_c", "85.5", "order", "7.50", "hold", "25"}
	p := b.form("/shop/shelf", "/shop/shelf", "service_a", "100", "service_b", "some", "service_c", "90", "order", "", "hold", "20").want(422)
	if p.wrong("service_b") == "" || p.wrong("order") == "" || p.value("service_b") != "some" {
		t.Error("what is no percentage is not asked for again")
	}
	if p = b.form("/shop/shelf", "/shop/shelf", "service_a", "100", "service_b", "95", "service_c", "90", "order", "5", "hold", "20").want(422); p.wrong("service_a") == "" {
		t.Error("never to run out is taken for a level")
	}
	b.form("/shop/shelf", "/shop/shelf", fields...).wantTo("/shop?done=shelf")
	if v, err := advice.GetSetting(t.Context(), s.pool); err != nil || v != (advice.Setting{ServiceA: 98, ServiceB: 95, ServiceC: 85.5, OrderMinor: 750, HoldPercent: 25, Version: 1}) {
		t.Error(v, err)
	}
	b.get("/shop").wantWords("main", "98, 95 and 85.5 of 100 times")
}
