package bill

import (
	"cmp"
	"slices"
)

// Who pays a line.
const (
	ByCustomer = "customer"
	ByUs       = "us"
	ByWarranty = "warranty"
	ByOther    = "team or other shop"
)

// Payers lists them, the usual one first.
var Payers = []string{ByCustomer, ByUs, ByWarranty, ByOther}

// Payer is who pays. Each claim and each team has a bill and a balance of its
// own, told apart by its number or name.
type Payer struct {
	Kind  string // of Payers
	Words string // number of the claim, or which team or shop; empty for the customer and us
}

// TheCustomer is the usual one.
var TheCustomer = Payer{Kind: ByCustomer}

// PayerOf is a payer of that kind, the customer where it is empty.
func PayerOf(kind, words string) Payer {
	kind = cmp.Or(kind, ByCustomer)
	if kind == ByCustomer || kind == ByUs {
		words = ""
	}
	return Payer{kind, words}
}

// String tells payers of a visit apart: "warranty, claim 2041".
func (p Payer) String() string {
	if p.Words == "" {
		return p.Kind
	}
	return p.Kind + ", " + p.Words
}

func byPayer(a, b Payer) int {
	return cmp.Or(cmp.Compare(slices.Index(Payers, a.Kind), slices.Index(Payers, b.Kind)), cmp.Compare(a.Words, b.Words))
}

// PaidBy is who pays the line.
func (l Line) PaidBy() Payer { return PayerOf(l.Payer, l.PayerWords) }

// PaidBy is whose money it is.
func (p Payment) PaidBy() Payer { return PayerOf(p.Payer, p.PayerWords) }

// Payers are those with a line or a payment that stands, the customer first,
// who is always one.
func (b Bill) Payers() []Payer {
	list := []Payer{TheCustomer}
	for _, l := range b.Standing() {
		list = append(list, l.PaidBy())
	}
	for _, p := range b.Payments {
		if p.Stands() {
			list = append(list, p.PaidBy())
		}
	}
	slices.SortFunc(list, byPayer)
	return slices.Compact(list)
}

// Named finds the payer of a bill that is called so; ok is false for none.
func (b Bill) Named(name string) (p Payer, ok bool) {
	list := b.Payers()
	i := slices.IndexFunc(list, func(p Payer) bool { return p.String() == name })
	if i < 0 {
		return p, false
	}
	return list[i], true
}
