package export_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/export"
	"damperdesk/internal/history"
	"damperdesk/internal/link"
)

func TestMain(m *testing.M) { dbtest.Main(m) }

var key = []byte("a key of the tests, 32 bytes long")

// A link ends with a sale: how often the seller opened theirs is not for the buyer
// to see, nor the other way round. Who buys back has their first one again.
func TestTheLinksOfABookAreOfWhoHadTheUnit(t *testing.T) {
	ctx, tx := t.Context(), dbtest.Tx(t)
	by := dbtest.By(t, tx, "desk")
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	add := func(name string) int64 {
		id, err := customer.Add(ctx, tx, by, customer.Details{Name: name})
		must(err)
		return id
	}
	seller, buyer := add("Odette Marsh"), add("Joren Pike")
	unit, err := customer.AddUnit(ctx, tx, by, seller, customer.UnitDetails{Kind: "fork", ModelWords: "Tindra Lode"})
	must(err)
	later := func() history.By {
		by = dbtest.Act(t, tx, by)
		by.At = by.At.Add(24 * time.Hour)
		return by
	}
	opens := func(times int) {
		_, err := link.MakeOfUnit(ctx, tx, later(), key, unit)
		must(err)
		_, err = tx.Exec(ctx, "insert into link_view (link_id, day, count) select max(id), $1, $2 from link", by.At, times)
		must(err)
	}
	sell := func(to int64) {
		at := later()
		must(customer.Sell(ctx, tx, at, unit, to, time.UTC))
		must(link.RevokeSold(ctx, tx, at, unit))
	}
	opens(7)
	sell(buyer)
	opens(3)
	if got := opened(t, ctx, tx, seller) + ", " + opened(t, ctx, tx, buyer); got != "[7], [3]" {
		t.Errorf("seller and buyer opened %s, want 7 and 3", got)
	}
	sell(seller)
	if got := opened(t, ctx, tx, seller) + ", " + opened(t, ctx, tx, buyer); got != "[7], [3]" {
		t.Errorf("bought back: they opened %s, want 7 and 3", got)
	}
}

// opened is how often each link in the file of a customer was opened.
func opened(t *testing.T, ctx context.Context, tx pgx.Tx, id int64) string {
	t.Helper()
	f, err := export.Of(ctx, tx, id, dbtest.Now)
	if err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	if err := f.Write(&file, nil); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	in, err := z.Open("data.json")
	if err != nil {
		t.Fatal(err)
	}
	var data struct {
		Data struct {
			Links []struct{ Opened map[string]int }
		}
	}
	if err := json.NewDecoder(in).Decode(&data); err != nil {
		t.Fatal(err)
	}
	var times []int
	for _, l := range data.Data.Links {
		for _, n := range l.Opened {
			times = append(times, n)
		}
	}
	return fmt.Sprint(times)
}
