package stock

import (
	"context"
	"slices"
	"strconv"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/money"
)

// LedgerColumns are those of the file of one item's ledger.
var LedgerColumns = []string{"no", "at", "kind", "amount", "cost", "value change", "amount after", "value after", "batch", "job", "reason", "takes back", "by"}

// Ledger is every move of an item as rows of a file, the oldest first: amounts
// with their unit, money in the currency without its sign, times in zone.
func Ledger(ctx context.Context, q db.Querier, item int64, currency string, zone *time.Location) ([][]string, error) {
	i, err := Get(ctx, q, item)
	if err != nil {
		return nil, err
	}
	var moves []Entry
	for before := 0; ; before = moves[len(moves)-1].Seq {
		page, err := Entries(ctx, q, item, before)
		if err != nil {
			return nil, err
		}
		moves = append(moves, page...)
		if len(page) < EntriesAtOnce {
			break
		}
	}
	slices.Reverse(moves)
	seqs := map[int64]int{}
	rows := [][]string{LedgerColumns}
	for _, m := range moves {
		seqs[m.ID] = m.Seq
		amount := func(n int64) string { return i.Measure.Field(n) }
		paid := func(minor int64) string { return money.FormatNumber(minor, currency) }
		rows = append(rows, []string{strconv.Itoa(m.Seq), m.At.In(zone).Format(time.RFC3339), string(m.Kind), amount(m.Qty), paid(m.CostMinor), paid(m.ValueMinor),
			amount(m.QtyAfter), paid(m.ValueAfter), m.Batch, numberOrNone(m.JobNumber), m.Reason, numberOrNone(seqs[m.Reverses]), m.Actor})
	}
	return rows, nil
}

func numberOrNone(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
