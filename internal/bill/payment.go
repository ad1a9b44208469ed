package bill

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
)

// PaymentKinds is how money changes hands, the usual first.
var PaymentKinds = []string{"card", "cash", "bank transfer", "other"}

// NewPayment is money as the desk takes it, or gives it back.
type NewPayment struct {
	Kind  string
	Words string // such as who paid, or what by
	Minor int64  // above zero either way
	Back  bool   // to the customer
	// Ahead says that more than is owed was meant.
	Ahead bool
}

// check says by field what is wrong with a payment to somebody who stands so.
func (p NewPayment) check(b Balance) error {
	f := faults{}
	f.add(!slices.Contains(PaymentKinds, p.Kind), "kind", "Choose how it was paid.")
	f.add(long(p.Words, maxWords), "words", fmt.Sprintf("Keep it under %d characters.", maxWords))
	f.add(p.Back && p.Ahead, "way", "Tick one of them: it is paid ahead or given back.")
	f.add(p.Minor <= 0, "amount", "Type an amount above zero.")
	f.add(p.Minor > mostMinor, "amount", "That is too large for a payment.")
	f.add(p.Back && p.Minor > b.PaidMinor, "amount", "No more can be given back than was paid, "+money.Format(b.PaidMinor, b.Currency)+".")
	f.add(!p.Back && !p.Ahead && p.Minor > max(0, b.OwedMinor()), "amount",
		"That is more than is owed, "+money.Format(max(0, b.OwedMinor()), b.Currency)+". If it is paid ahead, tick that below.")
	return f.err()
}

// Pay keeps a payment of the customer of a visit.
func Pay(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, p NewPayment) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	b, err := Get(ctx, tx, visitID)
	if err != nil {
		return err
	}
	p.Words = strings.TrimSpace(p.Words)
	balance := b.Balance()
	if err := p.check(balance); err != nil {
		return err
	}
	if p.Back {
		p.Minor = -p.Minor
	}
	var id int64
	err = tx.QueryRow(ctx, `insert into payment (visit_id, kind, words, minor, currency, owed_minor, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6, nullif($7, 0::bigint), $8, $9) returning id`,
		visitID, p.Kind, p.Words, p.Minor, v.currency, balance.OwedMinor(), by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("keep payment: %w", db.Translate(err))
	}
	return v.append(ctx, tx, by, 0, "payment taken", map[string]any{"payment": id, "minor": p.Minor, "currency": v.currency})
}

// TakeBackPayment answers a payment that was entered wrongly by its exact
// opposite. Money given back is a payment of its own.
func TakeBackPayment(ctx context.Context, tx pgx.Tx, by history.By, visitID, paymentID int64, reason string) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	b, err := Get(ctx, tx, visitID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(b.Payments, func(p Payment) bool { return p.ID == paymentID && p.Reverses == 0 })
	if reason, err = because("payment", reason, i >= 0, i >= 0 && !b.Payments[i].Stands()); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `insert into payment (visit_id, kind, words, minor, currency, owed_minor, reverses, reason, actor_id, intent_id, at)
		select visit_id, kind, words, -minor, currency, $2, id, $3, nullif($4, 0::bigint), $5, $6 from payment where id = $1`,
		paymentID, b.Balance().OwedMinor(), reason, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("take back payment: %w", db.Translate(err))
	}
	return v.append(ctx, tx, by, 0, "payment taken back", map[string]any{"payment": paymentID, "minor": b.Payments[i].MinorPaid, "currency": v.currency})
}
