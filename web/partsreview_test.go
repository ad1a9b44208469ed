package web

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

func TestTheReviewOfParts(t *testing.T) {
	s := server(t)
	o := s.as(owner)
	o.get("/parts/review").want(200).wantWords("main", "Nothing has moved on the shelf yet.")
	item := s.onShelf("W-35", "A3", stock.Each, 4, 2000)
	s.write(func(tx pgx.Tx, by history.By) error {
		by.At = dbtest.Now.AddDate(0, 0, -10)
		_, err := stock.Post(context.Background(), tx, by, stock.Posting{Item: item, Kind: stock.Use, Qty: 4})
		return err
	})
	o.get("/parts/review?p=4w").want(200).wantWords("#items ~ table", "Part W-35").wantWords("#items ~ table", "£20.00").
		wantWords("main", "Not enough history").wantWords("#out ~ table", "still none").wantWords("#by-service ~ table", "In the workshop, on no job")
	o.get("/parts/review?p=pick&from=2026-10-12&to=2026-10-01").want(422).wantWords("main", "before the first one")
	o.get("/parts/review?p=none").want(404)
	s.pass(400 * 24 * time.Hour)
	s.onShelf("W-36", "A3", stock.Each, 2, 700)
	o.get("/parts/review?idle=6").want(200).wantWords("#dead ~ p", "£7.00 lies in 1 item")
}
