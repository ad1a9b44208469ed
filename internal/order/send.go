package order

import (
	"context"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// Expected is the day on which a delivery is promised that is ordered on a day:
// the next day for orders and so many calendar days behind it.
func Expected(on time.Time, s stock.Supplier) time.Time {
	return stock.OrderDay(on, s.OrderDays).AddDate(0, 0, s.LeadDays)
}

// Day is the calendar day of an instant in a zone, at midnight UTC.
func Day(at time.Time, zone *time.Location) time.Time {
	y, m, d := at.In(zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// Send keeps that a draft went to its supplier. It is expected when the supplier
// promises, or on the day that was said.
func Send(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, said *time.Time, zone *time.Location) error {
	if err := maySend(by); err != nil {
		return err
	}
	if err := inDraft(ctx, tx, id, version); err != nil {
		return err
	}
	o, err := Get(ctx, tx, id)
	if err != nil {
		return err
	}
	if o.Count == 0 {
		return fault.Conflict("Nothing is on this order yet.")
	}
	supplier, err := stock.GetSupplier(ctx, tx, o.SupplierID)
	if err != nil {
		return err
	}
	today := Day(by.At, zone)
	on := Expected(today, supplier)
	if said != nil {
		on = *said
	}
	if err := mayExpect(on, today); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, "update purchase set state = 'sent', sent_at = $2, expected_on = $3, version = version + 1 where id = $1", id, by.At, on)
	if err != nil {
		return fmt.Errorf("send order %d: %w", id, err)
	}
	return come(ctx, tx, by, id, Sent, "")
}

// mayExpect refuses a day that is over, or so far off that it is a slip.
func mayExpect(on, today time.Time) error {
	if on.Before(today) || on.After(today.AddDate(2, 0, 0)) {
		return fault.Field("expected_on", "Give a day from today on, at most two years ahead.")
	}
	return nil
}

// Await says on which day the rest of a sent order is expected now.
func Await(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, on time.Time, zone *time.Location) error {
	if err := mayKeep(by); err != nil {
		return err
	}
	o, err := hold(ctx, tx, id, version)
	if err != nil {
		return err
	}
	if !o.Awaited() {
		return fault.Conflict("Nothing of this order is awaited.")
	}
	if err := mayExpect(on, Day(by.At, zone)); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "update purchase set expected_on = $2, version = version + 1 where id = $1", id, on); err != nil {
		return fmt.Errorf("await order %d: %w", id, err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "order", SubjectID: id, Kind: "order awaited", Detail: map[string]any{"on": on.Format(time.DateOnly)}})
}

// Close ends an order by hand: of a draft nothing is ordered, of a sent one nothing
// more is awaited.
func Close(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, reason string) error {
	if err := maySend(by); err != nil {
		return err
	}
	reason = strings.TrimSpace(reason)
	if reason == "" || utf8.RuneCountInString(reason) > mostWords {
		return fault.Field("reason", fmt.Sprintf("Say why, in at most %d characters.", mostWords))
	}
	o, err := hold(ctx, tx, id, version)
	if err != nil {
		return err
	}
	if o.State == Received || o.State == Closed {
		return fault.Conflict("This order is over already.")
	}
	return come(ctx, tx, by, id, Closed, reason)
}
