package demo

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/order"
	"damperdesk/internal/stock"
)

// atOnce is how many visits are taken in before any is worked on, and mostAtOnce what
// they can take of one item.
const (
	atOnce     = 8
	mostAtOnce = 12
)

// restock orders what is low, so that it is here before the next visits come in.
func (s *seeder) restock(ctx context.Context, name string, before time.Time) error {
	r := lots(1<<26 + uint64(before.Unix()))
	sent := before.AddDate(0, 0, -9)
	_, err := s.act(ctx, name, s.staff["Odile"], sent, func(a acting) (string, error) {
		var drafts []int64
		for _, of := range shelf() {
			i, err := stock.ByCode(a.ctx, a.tx, of.Code)
			if err != nil {
				return "", err
			}
			if i.Free() >= max(of.low*2, mostAtOnce) {
				continue
			}
			draft, err := order.AddLine(a.ctx, a.tx, a.by, order.Wish{Item: i.ID, Qty: of.high*2 - i.Free()})
			if err != nil {
				return "", err
			}
			if len(drafts) == 0 || drafts[len(drafts)-1] != draft {
				drafts = append(drafts, draft)
			}
		}
		for _, id := range drafts {
			late := r.IntN(4)
			if err := s.ordered(&a, id, late); err != nil {
				return "", err
			}
		}
		return "", nil
	})
	return err
}

// ordered sends a draft and receives it, so many days late.
func (s *seeder) ordered(a *acting, id int64, late int) error {
	o, err := order.Get(a.ctx, a.tx, id)
	if err != nil || o.State != order.Draft {
		return err // the same draft twice
	}
	if err := order.Send(a.ctx, a.tx, a.by, id, o.Version, nil, zone); err != nil {
		return err
	}
	if o, err = order.Get(a.ctx, a.tx, id); err != nil {
		return err
	}
	came := min(s.now.Unix(), o.ExpectedOn.AddDate(0, 0, late).Add(11*time.Hour).Unix(), a.by.At.AddDate(0, 0, 8).Unix())
	return a.then(s.staff["Odile"], time.Unix(came, 0), func(by history.By) error { return s.unpack(a, by, o) })
}

// unpack puts all of an order on the shelf, at what it cost then.
func (s *seeder) unpack(a *acting, by history.By, o order.Order) error {
	lines, err := order.Lines(a.ctx, a.tx, o.ID)
	if err != nil {
		return err
	}
	var counted []order.Counted
	var items []int64
	for _, l := range lines {
		i, err := stock.Get(a.ctx, a.tx, l.ItemID)
		if err != nil {
			return err
		}
		price := s.priceAt(*l.PriceMinor, by.At)
		counted = append(counted, s.batched(order.Counted{Item: l.ItemID, Line: l.ID, Qty: l.Qty, PriceMinor: &price}, i, by.At))
		items = append(items, l.ItemID)
	}
	err = job.Supply(a.ctx, a.tx, by, items, func() error {
		_, err := order.Receive(a.ctx, a.tx, by, o.ID, o.Version, counted)
		return err
	})
	return err
}

// newBottles opens one of each fluid, as a shop does before the old one is past its
// day.
func (s *seeder) newBottles(ctx context.Context) error {
	_, err := s.act(ctx, "open new bottles", s.staff["Ines"], s.clock.day(-5, 10), func(a acting) (string, error) {
		for _, of := range shelf() {
			i, err := stock.ByCode(a.ctx, a.tx, of.Code)
			if err != nil {
				return "", err
			}
			if i.Kind != stock.Fluid {
				continue
			}
			batches, err := stock.Batches(a.ctx, a.tx, i.ID)
			if err != nil {
				return "", err
			}
			if err := stock.OpenBottle(a.ctx, a.tx, a.by, i.ID, batches[len(batches)-1].ID); err != nil {
				return "", err
			}
		}
		return "", nil
	})
	return err
}

// batched is a delivery of an item with the batch that stands on it, where it has one.
func (s *seeder) batched(c order.Counted, i stock.Item, at time.Time) order.Counted {
	if i.Batched {
		y, m, d := at.AddDate(0, 0, *i.ShelfDays).Date()
		best := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		c.Batch, c.BestBefore = "L"+at.Format("060102"), &best
	}
	return c
}

// lately is what happened to the shelf before today: the drawer of seal sets was
// counted and one kind was not there, which is on order; a draft waits for more, and
// the waste log has what the carrier took and what stands.
func (s *seeder) lately(ctx context.Context) error {
	if err := s.countSeals(ctx); err != nil {
		return err
	}
	for _, do := range []func(context.Context) error{s.newBottles, s.useUp} {
		if err := do(ctx); err != nil {
			return err
		}
	}
	_, err := s.act(ctx, "order lately", s.staff["Odile"], s.clock.day(-2, 11), func(a acting) (string, error) {
		var id int64
		for _, code := range []string{"SD-Kelp", "WP-36"} {
			var err error
			if id, err = s.wish(a, code, 4); err != nil {
				return "", err
			}
		}
		o, err := order.Get(a.ctx, a.tx, id)
		if err != nil {
			return "", err
		}
		next := s.clock.day(1, 10)
		y, m, d := next.In(zone).Date()
		day := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		return "", order.Send(a.ctx, a.tx, a.by, id, o.Version, &day, zone)
	})
	if err != nil {
		return err
	}
	_, err = s.act(ctx, "draft lately", s.staff["Ines"], s.clock.day(-1, 12), func(a acting) (string, error) {
		id, err := s.wish(a, "DF-05", litre)
		return fmt.Sprint(id), err
	})
	if err != nil {
		return err
	}
	return s.logWaste(ctx)
}

// useUp takes off the shelf what no job stands for.
func (s *seeder) useUp(ctx context.Context) error {
	_, err := s.act(ctx, "use in the workshop", s.staff["Ines"], s.clock.day(-4, 17), func(a acting) (string, error) {
		for _, u := range []struct {
			code string
			qty  int64
		}{{"GL-M", 270}, {"CL-1", 17 * litre / 2}, {"GR-1", 4 * kilogram / 5}} {
			i, err := stock.ByCode(a.ctx, a.tx, u.code)
			if err != nil {
				return "", err
			}
			if _, err := stock.Post(a.ctx, a.tx, a.by, stock.Posting{Item: i.ID, Kind: stock.Use, Qty: u.qty}); err != nil {
				return "", err
			}
		}
		return "", nil
	})
	return err
}

func (s *seeder) wish(a acting, code string, qty int64) (int64, error) {
	i, err := stock.ByCode(a.ctx, a.tx, code)
	if err != nil {
		return 0, err
	}
	return order.AddLine(a.ctx, a.tx, a.by, order.Wish{Item: i.ID, Qty: qty})
}

// countSeals counts the drawer of the seal sets: all as the ledger says, but those
// for one damper, of which there are none.
func (s *seeder) countSeals(ctx context.Context) error {
	_, err := s.act(ctx, "count the seals", s.staff["Ragna"], s.clock.day(-3, 17), func(a acting) (string, error) {
		id, err := stock.BeginCount(a.ctx, a.tx, a.by, "drawer D")
		if err != nil {
			return "", err
		}
		sheet, err := stock.CountSheet(a.ctx, a.tx, id)
		if err != nil {
			return "", err
		}
		for _, c := range sheet {
			i, err := stock.Get(a.ctx, a.tx, c.ItemID)
			if err != nil {
				return "", err
			}
			there := i.Qty
			if i.Code == "SD-Kelp" {
				there = 0
			}
			if err := stock.TypeCount(a.ctx, a.tx, a.by, id, i.ID, there); err != nil {
				return "", err
			}
		}
		list, err := stock.Differences(a.ctx, a.tx, id)
		if err != nil {
			return "", err
		}
		return "", stock.PostCount(a.ctx, a.tx, a.by, id, stock.Mark(list))
	})
	return err
}

// logWaste is what went into the drums, and what the carrier took of it.
func (s *seeder) logWaste(ctx context.Context) error {
	drum := map[stock.WasteKind]string{stock.UsedOil: "drum 1", stock.UsedFluid: "drum 2", stock.UsedSolvent: "can 3"}
	log := func(name string, at time.Time, amounts map[stock.WasteKind]int64) error {
		_, err := s.act(ctx, name, s.staff["Ines"], at, func(a acting) (string, error) {
			for _, kind := range stock.WasteKinds {
				if amounts[kind] == 0 {
					continue
				}
				if err := stock.LogWaste(a.ctx, a.tx, a.by, stock.NewWaste{Kind: kind, Amount: amounts[kind], Container: drum[kind]}); err != nil {
					return "", err
				}
			}
			return "", nil
		})
		return err
	}
	if err := log("waste of the summer", s.clock.day(-30, 17), map[stock.WasteKind]int64{stock.UsedOil: 6 * litre, stock.UsedFluid: 2 * litre, stock.UsedSolvent: 4 * litre}); err != nil {
		return err
	}
	taken := s.clock.day(-20, 12)
	_, err := s.act(ctx, "the carrier comes", s.staff["Ragna"], taken, func(a acting) (string, error) {
		y, m, d := taken.In(zone).Date()
		day := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		return "", stock.TakeWaste(a.ctx, a.tx, a.by, stock.NewPickup{Carrier: "Hillfoot Waste Carriers", Document: "HW 20418", TakenOn: day,
			Amounts: map[stock.WasteKind]int64{stock.UsedOil: 6 * litre, stock.UsedSolvent: 3 * litre}}, day)
	})
	if err != nil {
		return err
	}
	return log("waste of last week", s.clock.day(-1, 17), map[stock.WasteKind]int64{stock.UsedOil: 3 * litre / 2, stock.UsedFluid: litre / 2})
}
