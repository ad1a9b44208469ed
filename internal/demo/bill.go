package demo

import (
	"context"
	"time"

	"damperdesk/internal/bill"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
)

// listed are the prices of the invented shop, tax inside; other work has none.
var listed = map[string]int64{"lower-leg": 6500, "air-spring": 9500, "coil-spring": 8500,
	"damper": 11000, "cartridge": 8000, "full": 18500, "bushing": 12500, "crown-steerer": 3500, "strip": 3000, "air-can": 5500}

const (
	fullTax = "A"
	noTax   = "B"
)

// setPrices has Ragna say what everything costs, before the first customer.
func (s *seeder) setPrices(ctx context.Context, at time.Time) error {
	_, err := s.act(ctx, "set the prices", s.staff["Ragna"], at, func(a acting) (string, error) {
		settings, err := shop.Get(a.ctx, a.tx)
		if err != nil {
			return "", err
		}
		if err := shop.SetPricesIncludeTax(a.ctx, a.tx, a.by, settings.Version, true); err != nil {
			return "", err
		}
		for _, r := range []bill.TaxRate{{Name: "full rate", BP: 2000}, {Name: "no tax"}} {
			if err := bill.SetTaxRate(a.ctx, a.tx, a.by, r); err != nil {
				return "", err
			}
		}
		var list []bill.Price
		for code, minor := range listed {
			list = append(list, bill.Price{ServiceCode: code, Minor: &minor, Currency: currency, TaxCode: fullTax})
		}
		return "", bill.SetPrices(a.ctx, a.tx, a.by, list)
	})
	return err
}

// settle writes the bill of a visit that ends, with the parts that were
// used and are sold by themselves, and takes what is owed. Work that ended otherwise costs a look.
func (s *seeder) settle(a *acting, v *visit, t *task) error {
	if t.done != "" {
		return s.settleHire(a, v, t)
	}
	odile := s.staff["Odile"]
	err := a.then(odile, t.left, func(by history.By) error {
		if t.ending != "" {
			return bill.AddLine(a.ctx, a.tx, by, v.id, fee(t, "Looked through", 1500))
		}
		if err := bill.TakeListed(a.ctx, a.tx, by, v.id, true); err != nil {
			return err
		}
		parts, err := bill.Parts(a.ctx, a.tx, v.id)
		if err != nil || len(parts) == 0 {
			return err
		}
		return bill.TakeParts(a.ctx, a.tx, by, v.id, true)
	})
	if err != nil {
		return err
	}
	return a.then(odile, t.left, func(by history.By) error {
		b, err := bill.Get(a.ctx, a.tx, v.id)
		if err != nil {
			return err
		}
		return bill.Pay(a.ctx, a.tx, by, v.id, bill.NewPayment{Kind: pick(t.r, "card", "card", "cash"), Minor: b.Balance().OwedMinor()})
	})
}

func part(t *task, words string, minor int64) bill.NewLine {
	return bill.NewLine{JobID: t.id, Kind: "part", Words: words, QtyMilli: 1000, UnitMinor: minor, TaxCode: fullTax, TaxIncluded: true}
}

func fee(t *task, words string, minor int64) bill.NewLine {
	l := part(t, words, minor)
	l.Kind = "fee"
	return l
}

// bills are what the desk has done to the bills of open visits, by customer.
var bills = map[string]func(s *seeder, a acting, v *visit) error{
	"Hanne Byrd": func(s *seeder, a acting, v *visit) error { // part-paid
		foams := part(v.jobs[0], "Foams, a pair", 900)
		foams.DiscountMinor, foams.DiscountReason = 100, "the last pair"
		return s.write(a, v, true, []bill.NewLine{foams}, bill.NewPayment{Kind: "card", Minor: 3000})
	},
	"Priya Castellan": func(s *seeder, a acting, v *visit) error { // a line under warranty
		knob := part(v.jobs[0], "Rebound knob", 1900)
		knob.Payer, knob.PayerWords = bill.ByWarranty, "claim 2041"
		return s.write(a, v, true, []bill.NewLine{knob})
	},
	"Beatrix Nowak": func(s *seeder, a acting, v *visit) error { // over what may be spent
		return s.write(a, v, true, []bill.NewLine{part(v.jobs[0], "Wipers and foams", 2800), part(v.jobs[0], "Rebound knob", 1900)})
	},
	"Lowri Fenwick": func(s *seeder, a acting, v *visit) error { // by hand, and settled
		post := fee(v.jobs[0], "Post both ways", 1400)
		post.JobID, post.TaxCode = 0, noTax
		look := fee(v.jobs[0], "Looked through, sent to a specialist", 2500)
		look.ServiceCode = "other"
		return s.write(a, v, false, []bill.NewLine{look, post}, bill.NewPayment{Kind: "bank transfer", Minor: 3900})
	},
	"Sanne Whitlow": func(s *seeder, a acting, v *visit) error { // a line that was taken back
		if err := s.write(a, v, true, []bill.NewLine{part(v.jobs[0], "Foams, a pair", 900)}); err != nil {
			return err
		}
		return a.then(s.staff["Odile"], a.by.At.Add(2*time.Minute), func(by history.By) error {
			b, err := bill.Get(a.ctx, a.tx, v.id)
			if err != nil {
				return err
			}
			return bill.TakeBack(a.ctx, a.tx, by, v.id, b.Lines[len(b.Lines)-1].ID, "they were as new")
		})
	},
}

// write puts the listed prices, some lines and payments on a bill.
func (s *seeder) write(a acting, v *visit, list bool, lines []bill.NewLine, payments ...bill.NewPayment) error {
	if list {
		if err := bill.TakeListed(a.ctx, a.tx, a.by, v.id, true); err != nil {
			return err
		}
	}
	for _, l := range lines {
		if err := bill.AddLine(a.ctx, a.tx, a.by, v.id, l); err != nil {
			return err
		}
	}
	for _, p := range payments {
		err := a.then(s.staff["Odile"], a.by.At.Add(time.Minute), func(by history.By) error { return bill.Pay(a.ctx, a.tx, by, v.id, p) })
		if err != nil {
			return err
		}
	}
	return nil
}

// writeBill does to the bill of an open visit what the desk has done.
func (s *seeder) writeBill(ctx context.Context, v *visit, owner string) error {
	do, ok := bills[owner]
	if !ok {
		return nil
	}
	_, err := s.act(ctx, v.name+", bill", s.staff["Odile"], s.clock.before(5*time.Minute), func(a acting) (string, error) {
		return "", do(s, a, v)
	})
	return err
}
