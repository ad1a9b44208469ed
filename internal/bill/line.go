package bill

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/money"
)

// NewLine is a line as the desk gives it.
type NewLine struct {
	JobID          int64 // 0: of the whole visit
	ServiceCode    string
	NeedID         int64  // of a part that a job used; 0: of none
	Payer          string // empty: the customer
	PayerWords     string
	Kind           string
	Words          string
	QtyMilli       int64
	UnitMinor      int64
	TaxCode        string
	TaxIncluded    bool // in UnitMinor and DiscountMinor
	DiscountMinor  int64
	DiscountBP     int // per cent of what the line comes to, in place of DiscountMinor
	DiscountReason string
	// ShareBP prices a surcharge: per cent of what the services of its job come
	// to, or of all where it is of the whole visit, in place of UnitMinor.
	ShareBP int
}

const (
	maxWords  = 200 // characters of what a line is for, and of who pays
	maxReason = 500 // characters of a reason
	manyMilli = 99_999_999
	mostShare = 100_000 // basis points of a surcharge
)

var errDesk = fault.Forbidden("The bill is the desk’s to write.")

// faults gathers the first sentence about each field.
type faults map[string]string

func (f faults) add(wrong bool, field, sentence string) {
	if wrong && f[field] == "" {
		f[field] = sentence
	}
}

func (f faults) err() error {
	if len(f) == 0 {
		return nil
	}
	return &fault.Invalid{Fields: f}
}

func long(text string, limit int) bool { return utf8.RuneCountInString(text) > limit }

func (l NewLine) tidy() NewLine {
	for _, s := range []*string{&l.PayerWords, &l.Words, &l.DiscountReason} {
		*s = strings.TrimSpace(*s)
	}
	l.Payer = cmp.Or(l.Payer, ByCustomer)
	if l.ServiceCode != "" {
		l.Kind = KindService
	}
	if l.DiscountBP > 0 && l.DiscountBP <= 10_000 {
		l.DiscountMinor = money.Share(money.Times(l.UnitMinor, l.QtyMilli), l.DiscountBP)
	}
	return l
}

// check says by field what a tidied line lacks.
func (l NewLine) check() error {
	f := faults{}
	f.add(l.Words == "", "words", "Say what it is for, as the customer reads it.")
	f.add(long(l.Words, maxWords), "words", fmt.Sprintf("Keep it under %d characters.", maxWords))
	f.add(!slices.Contains(Payers, l.Payer), "payer", "Choose who pays.")
	f.add(l.Payer == ByOther && l.PayerWords == "", "payerwords", "Say which team or shop.")
	f.add(long(l.PayerWords, maxWords), "payerwords", fmt.Sprintf("Keep it under %d characters.", maxWords))
	f.add(!slices.Contains(Kinds, l.Kind), "kind", "Choose what kind of line it is.")
	f.add(l.QtyMilli <= 0 || l.QtyMilli > manyMilli, "quantity", "Type a number above zero and under 100000.")
	f.add(l.ShareBP != 0 && l.Kind != KindSurcharge, "price", "Only a surcharge is priced in per cent: type an amount.")
	f.add(l.ShareBP < 0 || l.ShareBP > mostShare, "price", "That is too large a share.")
	f.add(l.UnitMinor < 0 || l.UnitMinor > mostMinor, "price", "That is too large for a price.")
	f.add(l.DiscountBP < 0 || l.DiscountBP > 10_000, "discount", "Take off no more than 100 per cent.")
	f.add(l.DiscountBP > 0 && l.DiscountMinor == 0, "discount", "That takes nothing off: leave both empty.")
	f.add(l.DiscountMinor < 0 || l.DiscountMinor > money.Times(l.UnitMinor, l.QtyMilli), "discount", "Take off no more than the line comes to.")
	f.add(l.DiscountMinor != 0 && l.DiscountReason == "", "discountreason", "Say what it is taken off for, as the customer reads it.")
	f.add(l.DiscountMinor == 0 && l.DiscountReason != "", "discount", "Say how much is taken off.")
	f.add(long(l.DiscountReason, maxReason), "discountreason", fmt.Sprintf("Keep it under %d characters.", maxReason))
	return f.err()
}

// visit is what a writer knows of the visit whose row it holds.
type visit struct {
	id, customerID int64
	currency       string
	taxByLine      bool
}

// lock holds the row of the visit for whoever may write bills.
func lock(ctx context.Context, tx pgx.Tx, by history.By, id int64) (visit, error) {
	v := visit{id: id}
	if !by.Has("desk") && !by.Has("owner") {
		return v, errDesk
	}
	var erased bool
	err := tx.QueryRow(ctx, `select v.customer_id, v.currency, c.erased_at is not null from visit v join customer c on c.id = v.customer_id
		where v.id = $1 for no key update of v`, id).Scan(&v.customerID, &v.currency, &erased)
	if err == nil { // shared, so that nobody settles otherwise before this is written
		err = tx.QueryRow(ctx, "select coalesce((select tax_by_line from shop for share), false)").Scan(&v.taxByLine)
	}
	if errors.Is(err, pgx.ErrNoRows) {
		return v, fault.NotFound("There is no such visit.")
	}
	if err != nil {
		return v, fmt.Errorf("lock visit: %w", err)
	}
	if erased {
		return v, fault.Conflict("This customer was erased: their bill stays as it is.")
	}
	return v, nil
}

func (v visit) append(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, kind string, detail map[string]any) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "visit", SubjectID: v.id, Customer: v.customerID, Job: jobID, Kind: kind, Detail: detail})
}

// AddLine writes a line to the bill of a visit.
func AddLine(ctx context.Context, tx pgx.Tx, by history.By, visitID int64, l NewLine) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	if l.ShareBP > 0 {
		if l, err = v.surcharged(ctx, tx, l); err != nil {
			return err
		}
	}
	l = l.tidy()
	if err := l.check(); err != nil {
		return err
	}
	if err := v.fits(ctx, tx, l); err != nil {
		return err
	}
	return v.add(ctx, tx, by, l)
}

// surcharged prices a surcharge by what the payer's services come to on the bill
// as it is: those of its job, or all of them. What is typed with its tax and
// what is typed before it do not mix.
func (v visit) surcharged(ctx context.Context, q db.Querier, l NewLine) (NewLine, error) {
	b, err := Get(ctx, q, v.id)
	if err != nil {
		return l, err
	}
	l.UnitMinor = money.Share(servicesMinor(b.Lines, l), min(l.ShareBP, mostShare))
	if l.UnitMinor == 0 && l.Kind == KindSurcharge {
		return l, fault.Field("price", "No services stand on the bill that it could be a share of: put those on first, or type an amount.")
	}
	return l, nil
}

// servicesMinor adds up the services that a surcharge is a share of.
func servicesMinor(lines []Line, of NewLine) (sum int64) {
	for _, l := range lines {
		ofJob := of.JobID == 0 || l.JobID == of.JobID
		if l.Stands() && ofJob && l.Kind == KindService && l.PaidBy() == PayerOf(of.Payer, strings.TrimSpace(of.PayerWords)) && l.TaxIncluded == of.TaxIncluded {
			sum += l.AmountMinor()
		}
	}
	return sum
}

// fits refuses a job of another visit and a service that is billed already.
func (v visit) fits(ctx context.Context, q db.Querier, l NewLine) error {
	var of bool
	err := q.QueryRow(ctx, "select $2 = 0 or exists (select from job where id = $2 and visit_id = $1)", v.id, l.JobID).Scan(&of)
	if err != nil {
		return fmt.Errorf("look for job: %w", err)
	}
	if !of {
		return fault.Field("for", "That job is not one of this visit: choose again.")
	}
	if l.ServiceCode == "" {
		return nil
	}
	services, err := wantedOf(ctx, q, v.id)
	if err != nil {
		return err
	}
	return uncharged(services, l.JobID, l.ServiceCode)
}

func (v visit) add(ctx context.Context, tx pgx.Tx, by history.By, l NewLine) error {
	var id int64
	err := tx.QueryRow(ctx, `insert into bill_line (visit_id, job_id, payer, payer_words, kind, service_code, words, qty_milli, unit_minor, currency,
			tax_id, tax_included, tax_by_line, discount_minor, discount_bp, discount_reason, share_bp, actor_id, intent_id, at, need_id)
		select $1, nullif($2, 0::bigint), $3, $4, $5, nullif($6, ''), $7, $8, $9, $10, r.id, $12, $18, $13, $19, $14, $20, nullif($15, 0::bigint), $16, $17, nullif($21, 0::bigint)
		from `+ratesInUse+` r where r.code = $11 returning id`,
		v.id, l.JobID, l.Payer, l.PayerWords, l.Kind, l.ServiceCode, l.Words, l.QtyMilli, l.UnitMinor, v.currency,
		l.TaxCode, l.TaxIncluded, l.DiscountMinor, l.DiscountReason, by.Staff, by.Intent, by.At,
		v.taxByLine, l.DiscountBP, l.ShareBP, l.NeedID).Scan(&id)
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.Field("tax", "Choose the tax that it is sold under.")
	}
	if err != nil {
		return fmt.Errorf("write line of bill: %w", db.Translate(err))
	}
	return v.append(ctx, tx, by, l.JobID, "bill line written", map[string]any{"line": id, "payer": l.Payer,
		"minor": money.Times(l.UnitMinor, l.QtyMilli) - l.DiscountMinor, "currency": v.currency})
}

// TakeBack answers a wrong line by its exact opposite.
func TakeBack(ctx context.Context, tx pgx.Tx, by history.By, visitID, lineID int64, reason string) error {
	v, err := lock(ctx, tx, by, visitID)
	if err != nil {
		return err
	}
	b, err := Get(ctx, tx, visitID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(b.Lines, func(l Line) bool { return l.ID == lineID && l.Reverses == 0 })
	if reason, err = because("line", reason, i >= 0, i >= 0 && !b.Lines[i].Stands()); err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `insert into bill_line (visit_id, job_id, payer, payer_words, kind, service_code, words, qty_milli, unit_minor, currency,
			tax_id, tax_included, tax_by_line, discount_minor, discount_bp, discount_reason, share_bp, reverses, reason, actor_id, intent_id, at)
		select visit_id, job_id, payer, payer_words, kind, service_code, words, -qty_milli, unit_minor, currency,
			tax_id, tax_included, tax_by_line, -discount_minor, discount_bp, discount_reason, share_bp, id, $2, nullif($3, 0::bigint), $4, $5
		from bill_line where id = $1`, lineID, reason, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("take back line of bill: %w", db.Translate(err))
	}
	return v.append(ctx, tx, by, b.Lines[i].JobID, "bill line taken back", map[string]any{"line": lineID,
		"minor": b.Lines[i].AmountMinor(), "currency": v.currency})
}

// because tidies the reason that a wrong line or payment is taken back for. It
// refuses in the field of what, which must be there and not answered already.
func because(what, reason string, there, answered bool) (string, error) {
	reason = strings.TrimSpace(reason)
	switch {
	case !there:
		return "", fault.Field(what, "Choose the "+what+" that is wrong.")
	case answered:
		return "", fault.Conflict("This " + what + " is taken back already.")
	case reason == "":
		return "", fault.Field("reason", "Say why it is taken back.")
	case long(reason, maxReason):
		return "", fault.Field("reason", fmt.Sprintf("Keep it under %d characters.", maxReason))
	}
	return reason, nil
}
