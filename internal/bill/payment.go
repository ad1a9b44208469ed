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

const cash = "cash"

// PaymentKinds is how money changes hands, the usual first.
var PaymentKinds = []string{"card", cash, "bank transfer", "other"}

// NewPayment is money as the desk takes it, or gives it back.
type NewPayment struct {
	Payer Payer // the zero one: the customer
	Kind  string
	Words string // such as who paid, or what by
	Minor int64  // above zero either way
	Back  bool   // to the payer
	// Ahead says that more than is owed was meant: it is a deposit.
	Ahead bool
}

// rounding is what the smallest coin leaves of a payment in cash that settles
// all that is owed, or gives all back: what was owed less what changes hands.
// The amount is then the one in coins.
func (p NewPayment) rounding(b Balance) (NewPayment, int64) {
	all := b.OwedMinor()
	if p.Back {
		all = -all
	}
	coins := money.Cash(all, b.Currency)
	if p.Kind != cash || p.Ahead || all <= 0 || p.Minor != all && p.Minor != coins {
		return p, 0
	}
	p.Minor = coins
	return p, all - coins
}

// check says by field what is wrong with a payment of somebody who stands so.
func (p NewPayment) check(b Balance, rounding int64) error {
	f := faults{}
	f.add(!slices.Contains(Payers, p.Payer.Kind) || p.Payer.Kind == ByUs, "payer", "Choose who pays.")
	f.add(!slices.Contains(PaymentKinds, p.Kind), "kind", "Choose how it was paid.")
	f.add(long(p.Words, maxWords), "words", fmt.Sprintf("Keep it under %d characters.", maxWords))
	f.add(p.Back && p.Ahead, "way", "Tick one of them: it is paid ahead or given back.")
	f.add(p.Minor <= 0, "amount", "Type an amount above zero.")
	f.add(p.Minor > mostMinor, "amount", "That is too large for a payment.")
	f.add(p.Kind == cash && p.Minor%money.Coin(b.Currency) != 0, "amount",
		"There is no coin for that: the smallest is "+money.Format(money.Coin(b.Currency), b.Currency)+".")
	f.add(p.Back && p.Minor+rounding > b.PaidMinor, "amount", "No more can be given back than was paid, "+money.Format(b.PaidMinor, b.Currency)+".")
	f.add(!p.Back && !p.Ahead && p.Minor+rounding > max(0, b.OwedMinor()), "amount",
		"That is more than is owed, "+money.Format(max(0, b.OwedMinor()), b.Currency)+". If it is paid ahead, tick that below.")
	return f.err()
}

// Pay keeps a payment of one payer of a visit. What the smallest coin leaves of
// it is a payment of its own kind.
func Pay(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, p NewPayment) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	b, err := Get(ctx, tx, visitID)
	if err != nil {
		return err
	}
	p.Words, p.Payer = strings.TrimSpace(p.Words), PayerOf(p.Payer.Kind, p.Payer.Words)
	balance := b.BalanceOf(p.Payer)
	p, rounding := p.rounding(balance)
	if err := p.check(balance, rounding); err != nil {
		return err
	}
	kept := Payment{Kind: p.Kind, Words: p.Words, MinorPaid: p.Minor, Payer: p.Payer.Kind, PayerWords: p.Payer.Words, Deposit: p.Ahead, OwedMinor: balance.OwedMinor()}
	left := Payment{Kind: CashRounding, MinorPaid: rounding, Payer: p.Payer.Kind, PayerWords: p.Payer.Words}
	if p.Back {
		kept.MinorPaid, left.MinorPaid = -kept.MinorPaid, -left.MinorPaid
	}
	id, err := v.pay(ctx, tx, by, kept)
	if err != nil || rounding == 0 {
		return err
	}
	left.Rounds, left.OwedMinor = id, kept.OwedMinor-kept.MinorPaid
	_, err = v.pay(ctx, tx, by, left)
	return err
}

func (v visit) pay(ctx context.Context, tx pgx.Tx, by history.By, p Payment) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into payment (visit_id, kind, words, minor, currency, owed_minor, payer, payer_words, deposit, rounds, actor_id, intent_id, at)
		values ($1, $2, $3, $4, $5, $6, $7, $8, $9, nullif($10, 0::bigint), nullif($11, 0::bigint), $12, $13) returning id`,
		v.id, p.Kind, p.Words, p.MinorPaid, v.currency, p.OwedMinor, p.Payer, p.PayerWords, p.Deposit, p.Rounds, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("keep payment: %w", db.Translate(err))
	}
	return id, v.append(ctx, tx, by, 0, "payment taken", map[string]any{"payment": id, "minor": p.MinorPaid, "currency": v.currency})
}

// TakeBackPayment answers a payment that was entered wrongly by its exact
// opposite, and what rounding it left likewise. Money given back is a payment of
// its own.
func TakeBackPayment(ctx context.Context, tx pgx.Tx, by history.By, visitID, paymentID int64, reason string) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	b, err := Get(ctx, tx, visitID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(b.Payments, func(p Payment) bool { return p.ID == paymentID && p.Reverses == 0 && p.Rounds == 0 })
	if reason, err = because("payment", reason, i >= 0, i >= 0 && !b.Payments[i].Stands()); err != nil {
		return err
	}
	owed := b.BalanceOf(b.Payments[i].PaidBy()).OwedMinor()
	for _, p := range b.Payments[i:] {
		if p.Reverses != 0 || p.ID != paymentID && p.Rounds != paymentID {
			continue
		}
		if err := v.unpay(ctx, tx, by, p, owed, reason); err != nil {
			return err
		}
		owed += p.MinorPaid
	}
	return nil
}

func (v visit) unpay(ctx context.Context, tx pgx.Tx, by history.By, p Payment, owed int64, reason string) error {
	_, err := tx.Exec(ctx, `insert into payment (visit_id, kind, words, minor, currency, owed_minor, payer, payer_words, deposit, rounds, reverses, reason, actor_id, intent_id, at)
		select visit_id, kind, words, -minor, currency, $2, payer, payer_words, deposit, null, id, $3, nullif($4, 0::bigint), $5, $6
		from payment where id = $1`, p.ID, owed, reason, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("take back payment: %w", db.Translate(err))
	}
	return v.append(ctx, tx, by, 0, "payment taken back", map[string]any{"payment": p.ID, "minor": p.MinorPaid, "currency": v.currency})
}
