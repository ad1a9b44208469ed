// Package bill keeps what visits cost and what was paid: the price list, the
// kinds of tax, the lines of each visit and its payments.
//
// A bill never changes under a new price or rate, because a line carries its
// price and the version of its tax, and whether the one holds the other. A wrong
// line or payment stays and is answered by its exact opposite with a reason.
// Writers lock the row of the visit, so that what is owed is reckoned on all
// that came before.
package bill

import (
	"slices"
	"time"

	"damperdesk/internal/money"
)

// KindService is the kind of a line for work of the price list, KindSurcharge
// of one for what is asked beyond it, such as for express work.
const (
	KindService   = "service"
	KindSurcharge = "surcharge"
)

// Kinds is what a line may be for.
var Kinds = []string{KindService, "part", "fluid", "fee", KindSurcharge, "other"}

// Line is one line of a bill.
type Line struct {
	ID             int64
	VisitID        int64
	JobID          int64 // 0: of the whole visit
	Number         int   // the ticket; 0: none
	Payer          string
	PayerWords     string // which team or shop, or the number of the claim
	Kind           string
	ServiceCode    string // whose listed price it is; empty: a line by hand
	Words          string
	QtyMilli       int64 // thousandths; below zero in an opposite
	UnitMinor      int64
	Currency       string
	TaxCode        string
	TaxName        string
	TaxBP          int
	TaxIncluded    bool // in UnitMinor and DiscountMinor
	TaxByLine      bool // its tax is rounded by itself
	DiscountMinor  int64
	DiscountBP     int // the per cent it was said in; 0: an amount
	DiscountReason string
	ShareBP        int   // of a surcharge: the per cent of the services it was said in; 0: an amount
	Reverses       int64 // the wrong line that this is the opposite of; 0: none
	Reason         string
	ReversedBy     int64 // the opposite of this line; 0: it stands
	Actor          string
	At             time.Time
}

// AmountMinor is the price times the quantity, rounded once, less the discount.
func (l Line) AmountMinor() int64 { return money.Times(l.UnitMinor, l.QtyMilli) - l.DiscountMinor }

// Stands reports whether the line is neither wrong nor an opposite.
func (l Line) Stands() bool { return l.Reverses == 0 && l.ReversedBy == 0 }

// CashRounding is the kind of a payment that is what the smallest coin left of
// one in cash.
const CashRounding = "rounding"

// Payment is money from a payer, or to them where MinorPaid is below zero.
type Payment struct {
	ID         int64
	VisitID    int64
	Kind       string
	Words      string
	MinorPaid  int64
	Currency   string
	Payer      string
	PayerWords string // which claim, team or shop
	Deposit    bool   // it was paid ahead of the bill
	Rounds     int64  // the payment in cash that it rounds; 0: it is none of that kind
	OwedMinor  int64  // just before, by the payer
	Reverses   int64
	Reason     string
	ReversedBy int64
	Actor      string
	At         time.Time
}

// Stands reports whether the payment is neither wrong nor an opposite.
func (p Payment) Stands() bool { return p.Reverses == 0 && p.ReversedBy == 0 }

// Bill is all of a visit that is about money.
type Bill struct {
	VisitID    int64
	Currency   string
	LimitMinor *int64    // nil: ask for everything
	Lines      []Line    // in the order they were written, also wrong ones
	Payments   []Payment // likewise
}

// Rate is what a bill comes to under one kind of tax.
type Rate struct {
	Code, Name         string
	BP                 int
	NetMinor, TaxMinor int64
}

// Total is what a bill comes to for one payer.
type Total struct {
	Rates              []Rate // by code
	NetMinor, TaxMinor int64
}

// GrossMinor is what is to be paid.
func (t Total) GrossMinor() int64 { return t.NetMinor + t.TaxMinor }

// taxed is what is taxed together: one kind of tax at one rate, on amounts that
// all hold it or all do not; alone is the line that is taxed by itself.
type taxed struct {
	code   string
	bp     int
	inside bool
	alone  int
}

// taxed is how the line at that place is taxed.
func (l Line) taxed(at int) taxed {
	key := taxed{code: l.TaxCode, bp: l.TaxBP, inside: l.TaxIncluded}
	if l.TaxByLine {
		key.alone = at + 1
	}
	return key
}

// of divides an amount into net and tax.
func (t taxed) of(amount int64) (net, tax int64) {
	if t.inside {
		tax = money.TaxWithin(amount, t.bp)
		return amount - tax, tax
	}
	return amount, money.Tax(amount, t.bp)
}

// Sum adds up the lines of a payer that stand. The amounts of one kind of tax
// are added first and their tax is rounded once, unless the shop has settled
// that the tax of each line is.
func Sum(lines []Line, payer Payer) Total {
	amounts, names := map[taxed]int64{}, map[string]string{}
	for i, l := range lines {
		if l.PaidBy() == payer && l.Stands() {
			amounts[l.taxed(i)] += l.AmountMinor()
			names[l.TaxCode] = l.TaxName
		}
	}
	var t Total
	for key, amount := range amounts {
		net, tax := key.of(amount)
		t.NetMinor += net
		t.TaxMinor += tax
		t.add(Rate{Code: key.code, Name: names[key.code], BP: key.bp, NetMinor: net, TaxMinor: tax})
	}
	return t
}

// Nets is the net of each of a payer's lines that stand. They add up to the net
// of the bill: where prices hold their tax, what rounding leaves goes to the
// lines with the largest remainders.
func Nets(lines []Line) []int64 {
	nets, together := make([]int64, len(lines)), map[taxed][]int{}
	for i, l := range lines {
		together[l.taxed(i)] = append(together[l.taxed(i)], i)
	}
	for key, at := range together {
		var sum int64
		amounts := make([]int64, len(at))
		for i, n := range at {
			amounts[i] = lines[n].AmountMinor()
			sum += amounts[i]
		}
		net, _ := key.of(sum)
		for i, part := range money.Split(net, amounts) {
			nets[at[i]] = part
		}
	}
	return nets
}

// add keeps the rates in order, one for each code and rate.
func (t *Total) add(r Rate) {
	i, found := slices.BinarySearchFunc(t.Rates, r, func(a, b Rate) int {
		return slices.Compare([]int{int(a.Code[0]), a.BP}, []int{int(b.Code[0]), b.BP})
	})
	if !found {
		t.Rates = slices.Insert(t.Rates, i, r)
		return
	}
	t.Rates[i].NetMinor += r.NetMinor
	t.Rates[i].TaxMinor += r.TaxMinor
}

// Standing leaves out wrong lines and their opposites.
func (b Bill) Standing() []Line {
	return slices.DeleteFunc(slices.Clone(b.Lines), func(l Line) bool { return !l.Stands() })
}

// Balance is what a payer of a visit was billed and has paid, gross.
type Balance struct {
	Currency    string
	Lines       int // that stand, whoever pays them
	BilledMinor int64
	PaidMinor   int64
}

// OwedMinor is below zero where the shop owes the payer.
func (b Balance) OwedMinor() int64 { return b.BilledMinor - b.PaidMinor }

// Settled reports whether there is a bill and nothing is owed either way.
func (b Balance) Settled() bool { return b.Lines > 0 && b.OwedMinor() == 0 }

// Balance is how the customer stands.
func (b Bill) Balance() Balance { return b.BalanceOf(TheCustomer) }

// BalanceOf is how a payer stands.
func (b Bill) BalanceOf(payer Payer) Balance {
	balance := Balance{Currency: b.Currency, Lines: len(b.Standing()), BilledMinor: Sum(b.Lines, payer).GrossMinor()}
	for _, p := range b.Payments {
		if p.PaidBy() == payer {
			balance.PaidMinor += p.MinorPaid
		}
	}
	return balance
}

// OverLimit is by how much the customer's total is above what may be spent
// without asking; 0 where it is not, or nothing may.
func (b Bill) OverLimit() int64 {
	if b.LimitMinor == nil {
		return 0
	}
	return max(0, b.Balance().BilledMinor-*b.LimitMinor)
}
