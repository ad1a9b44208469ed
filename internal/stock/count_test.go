package stock

import (
	"context"
	"errors"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// counter is a shelf with n pieces of one item at A3, an owner, and a count of A3.
func counter(t *testing.T, n int64) (ctx context.Context, tx pgx.Tx, by history.By, item, count int64) {
	t.Helper()
	ctx, tx = t.Context(), dbtest.Tx(t)
	by = dbtest.By(t, tx, "mechanic", "owner")
	item = added(t, tx, by, wiper("w1"))
	receive(t, tx, by, item, n)
	return ctx, tx, by, item, begun(t, tx, by, "A3")
}

func receive(t *testing.T, tx pgx.Tx, by history.By, item, n int64) {
	t.Helper()
	if _, err := Post(t.Context(), tx, by, Posting{Item: item, Kind: Receive, Qty: n, Cost: 100 * n}); err != nil {
		t.Fatal(err)
	}
}

func begun(t *testing.T, tx pgx.Tx, by history.By, place string) int64 {
	t.Helper()
	id, err := BeginCount(t.Context(), tx, by, place)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

func use(t *testing.T, tx pgx.Tx, by history.By, item, n int64) Move {
	t.Helper()
	m, err := Post(t.Context(), tx, by, Posting{Item: item, Kind: Use, Qty: n})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func typed(t *testing.T, tx pgx.Tx, by history.By, count, item, n int64) {
	t.Helper()
	if err := TypeCount(t.Context(), tx, by, count, item, n); err != nil {
		t.Fatal(err)
	}
}

// approve posts a count as it stands.
func approve(ctx context.Context, tx pgx.Tx, by history.By, count int64) error {
	list, err := Differences(ctx, tx, count)
	if err != nil {
		return err
	}
	return PostCount(ctx, tx, by, count, Mark(list))
}

func left(t *testing.T, tx pgx.Tx, item int64) Item {
	t.Helper()
	i, err := Get(t.Context(), tx, item)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

func refused(t *testing.T, err error) {
	t.Helper()
	if !errors.As(err, new(fault.Conflict)) {
		t.Errorf("got %v, want a conflict", err)
	}
}

// Ten lie there by the ledger, nine are counted, three are used before the count is
// posted: six are left, because what is used after counting stays used (arithmetic).
func TestWhatIsUsedWhileCountingStaysUsed(t *testing.T) {
	ctx, tx, by, item, count := counter(t, 10)
	typed(t, tx, by, count, item, 9)
	use(t, tx, by, item, 3)
	if err := approve(ctx, tx, by, count); err != nil {
		t.Fatal(err)
	}
	if got := left(t, tx, item); got.Qty != 6 || got.Value != 600 {
		t.Errorf("%d worth %d are left, want 6 worth 600", got.Qty, got.Value)
	}
	list, err := Entries(ctx, tx, item, 0)
	if err != nil || list[0].Kind != Count || list[0].Qty != -1 || list[0].CountLineID == 0 {
		t.Errorf("last move %+v, %v; want the difference of −1", list[0], err)
	}
	got, err := CountSheet(ctx, tx, begun(t, tx, by, "A3"))
	if err != nil || len(got) != 1 || got[0].LastAt == nil || got[0].LineID != 0 {
		t.Errorf("the next count says %+v, %v; want when it was counted last", got, err)
	}
}

func TestTheLastCountOfAnItemCounts(t *testing.T) {
	ctx, tx, by, item, count := counter(t, 10)
	typed(t, tx, by, count, item, 2)
	typed(t, tx, by, count, item, 12)
	list, err := CountSheet(ctx, tx, count)
	if err != nil || len(list) != 1 || list[0].Difference() != 2 || list[0].Cost() != 200 || list[0].Times != 2 {
		t.Fatalf("%+v, %v; want a difference of 2 that costs 200, counted twice", list, err)
	}
	if err := approve(ctx, tx, by, count); err != nil {
		t.Fatal(err)
	}
	if got := left(t, tx, item); got.Qty != 12 || got.Value != 1200 {
		t.Errorf("%d worth %d, want 12 worth 1200", got.Qty, got.Value)
	}
	refused(t, approve(ctx, tx, by, count))
	refused(t, TypeCount(ctx, tx, by, count, item, 1))
}

func TestWithoutADifferenceNothingMoves(t *testing.T) {
	ctx, tx, by, item, count := counter(t, 10)
	other := added(t, tx, by, wiper("w2"))
	typed(t, tx, by, count, item, 10)
	if err := TypeCount(ctx, tx, by, count, other, 1); !errors.As(err, new(fault.NotFound)) {
		t.Errorf("an item that came after the count began: %v, want none", err)
	}
	if err := AddFound(ctx, tx, by, count, other); err != nil {
		t.Fatal(err)
	}
	if err := approve(ctx, tx, by, count); err != nil {
		t.Fatal(err)
	}
	if got := left(t, tx, item); got.Seq != 1 {
		t.Errorf("%d moves, want that of the delivery alone", got.Seq)
	}
	c, err := GetCount(ctx, tx, count)
	if err != nil || c.State != CountPosted || c.Items != 2 || c.Counted != 1 {
		t.Errorf("%+v, %v; want one of two counted", c, err)
	}
}

// A use that is taken back after counting: were the pieces lying there when they
// were counted, or did they come back since? And of two counts that find the same
// piece missing, only one may take it off.
func TestADoubtfulDifferenceIsCountedAgain(t *testing.T) {
	for name, between := range map[string]func(*testing.T, context.Context, pgx.Tx, history.By, int64, Move) error{
		"a use was taken back": func(t *testing.T, ctx context.Context, tx pgx.Tx, by history.By, _ int64, used Move) error {
			_, err := TakeBack(ctx, tx, by, used.ID, "It was not used")
			return err
		},
		"another count was posted": func(t *testing.T, ctx context.Context, tx pgx.Tx, by history.By, item int64, _ Move) error {
			second, err := BeginChosen(ctx, tx, by, item)
			if err != nil {
				return err
			}
			typed(t, tx, by, second, item, 7)
			return approve(ctx, tx, by, second)
		},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, tx, by, item, count := counter(t, 10)
			used := use(t, tx, by, item, 1)
			typed(t, tx, by, count, item, 7)
			if err := between(t, ctx, tx, by, item, used); err != nil {
				t.Fatal(err)
			}
			refused(t, approve(ctx, tx, by, count))
			typed(t, tx, by, count, item, 8)
			if err := approve(ctx, tx, by, count); err != nil {
				t.Fatal(err)
			}
			if got := left(t, tx, item); got.Qty != 8 {
				t.Errorf("%d are left, want the 8 that were counted", got.Qty)
			}
		})
	}
}

func TestOnlyWhatAnOwnerHasSeenIsPosted(t *testing.T) {
	ctx, tx, by, item, count := counter(t, 10)
	refused(t, approve(ctx, tx, by, count))
	typed(t, tx, by, count, item, 9)
	list, err := Differences(ctx, tx, count)
	if err != nil {
		t.Fatal(err)
	}
	seen := Mark(list)
	hands := by
	hands.Roles = []string{"mechanic"}
	if err := PostCount(ctx, tx, hands, count, seen); !errors.As(err, new(fault.Forbidden)) {
		t.Errorf("a mechanic posts a count: %v", err)
	}
	typed(t, tx, by, count, item, 8)
	refused(t, PostCount(ctx, tx, by, count, seen))
	if err := DropCount(ctx, tx, by, count); err != nil {
		t.Fatal(err)
	}
	refused(t, DropCount(ctx, tx, by, count))
	if got := left(t, tx, item); got.Qty != 10 {
		t.Errorf("%d are left, want the 10 of before", got.Qty)
	}
	begun(t, tx, by, "A3")
	if _, err := BeginCount(ctx, tx, by, "A3"); field(t, err) != "place" {
		t.Errorf("one place in two open counts: %v", err)
	}
}

func TestWhatCannotBeRightIsToCount(t *testing.T) {
	ctx, tx, by, item, count := counter(t, 2)
	s, err := Lock(ctx, tx, item)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.SetAside(ctx, tx, item, 2); err != nil {
		t.Fatal(err)
	}
	typed(t, tx, by, count, item, 1)
	if err := approve(ctx, tx, by, count); err != nil {
		t.Fatal(err)
	}
	list, err := ToCount(ctx, tx)
	if err != nil || len(list) != 1 {
		t.Fatalf("%d to count, %v; want what is set aside and not there", len(list), err)
	}
	if _, err := BeginToCount(ctx, tx, by); err != nil {
		t.Fatal(err)
	}
	if list, err := ToCount(ctx, tx); err != nil || len(list) != 0 {
		t.Errorf("%d to count beside their count, %v", len(list), err)
	}
}

// A barcode that a scanner typed into the field of the amount is no amount.
func TestABarcodeIsNoCount(t *testing.T) {
	ctx, tx, by, item, count := counter(t, 2)
	if err := TypeCount(ctx, tx, by, count, item, 40063812); field(t, err) != "counted" {
		t.Errorf("forty million pieces were counted: %v", err)
	}
}
