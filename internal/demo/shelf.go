package demo

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"damperdesk/internal/money"
	"damperdesk/internal/order"
	"damperdesk/internal/partslist"
	"damperdesk/internal/stock"
)

// supplier is an invented one, its lead time in days.
type supplier struct {
	name, account string
	lead          int
	minimum       int64
	days          []int16
}

var suppliers = []supplier{
	{"Marrow & Tidewell Spares", "TL 2207", 3, 5000, []int16{1, 4}},
	{"Coldharbour Fluids", "C-1180", 6, 8000, nil},
}

// shelved is an item of the invented shop: what a pack of it costs and what one
// piece, litre or kilogram is sold at, in pence.
type shelved struct {
	stock.Details
	pack      int64
	cost      int64 // of a pack
	sale      int64 // 0: not sold by itself
	low, high int64
	from      int    // of suppliers
	theirs    string // the supplier's code
	lists     []onList
}

// onList is where a service takes an item.
type onList struct {
	service, model, step string // no model: any
	qty                  int64
	must                 bool
}

const litre, kilogram = 1_000_000, 1_000_000

// shelf is what lies in the drawers of the shop: parts by the size of stanchion,
// seals by model, fluids by what the manuals call them.
func shelf() []shelved {
	list := []shelved{
		{Details: stock.Details{Code: "CW-8", Name: "Crush washer, M8", Kind: "crush washer", Place: "drawer A1"}, pack: 50, cost: 900, low: 40, high: 150, theirs: "MT-0108",
			lists: everyLowers("Z6", 2, true)},
		fluid("BO-05", "Bath oil, 5 weight", 22, 4.6, 1900),
		fluid("BO-10", "Bath oil, 10 weight", 32, 6.1, 1850),
		fluid("BO-20", "Bath oil, 20 weight", 68, 9.9, 1950),
		fluid("DF-05", "Damper fluid, 5 weight", 15, 3.9, 3100),
		{Details: stock.Details{Code: "GR-1", Name: "Suspension grease", Kind: stock.Grease, Measure: stock.Mass, Place: "bench 1"}, pack: kilogram / 2, cost: 2100, low: kilogram / 4, high: kilogram, from: 1, theirs: "CF-G5"},
		{Details: stock.Details{Code: "CL-1", Name: "Cleaner, water-based", Kind: "consumable", Measure: stock.Volume, Place: "wash bay"}, pack: 5 * litre, cost: 2600, low: 2 * litre, high: 10 * litre, from: 1, theirs: "CF-W5"},
		{Details: stock.Details{Code: "GL-M", Name: "Nitrile gloves, M", Kind: "consumable", Place: "bench 2"}, pack: 100, cost: 780, low: 50, high: 300, theirs: "MT-0990"},
	}
	sizes := map[float64]bool{}
	for _, m := range models {
		if m.stanchion > 0 && !sizes[m.stanchion] {
			sizes[m.stanchion] = true
			list = append(list, sized(m.stanchion)...)
		}
		list = append(list, sealsOf(m)...)
	}
	return list
}

func fluid(code, name string, nu40, nu100 float64, cost int64) shelved {
	days, open := 1095, 365
	return shelved{Details: stock.Details{Code: code, Name: name, Kind: stock.Fluid, Measure: stock.Volume, Place: "cabinet F", Nu40: &nu40, Nu100: &nu100,
		Batched: true, ShelfDays: &days, OpenedDays: &open}, pack: litre, cost: cost, low: litre, high: 4 * litre, from: 1, theirs: "CF-" + code}
}

// lowersServices take the lowers off a fork.
var lowersServices = []string{"lower-leg", "air-spring", "coil-spring", "damper", "full"}

func everyLowers(step string, qty int64, must bool) (list []onList) {
	for _, service := range lowersServices {
		list = append(list, onList{service: service, step: step, qty: qty, must: must})
	}
	return list
}

// sized are the parts that go by the diameter of the stanchions.
func sized(mm float64) []shelved {
	size := text(mm)
	wipers, foams := []onList{}, []onList{}
	for _, m := range models {
		if m.stanchion != mm {
			continue
		}
		for _, service := range lowersServices {
			wipers = append(wipers, onList{service, m.name, "W5", 2, false})
			foams = append(foams, onList{service, m.name, "W4", 2, true})
		}
	}
	return []shelved{
		{Details: stock.Details{Code: "WP-" + size, Name: "Wiper, " + size + " mm", Kind: "wiper", Place: "drawer B" + size}, pack: 10, cost: 4200, sale: 950, low: 12, high: 40, theirs: "MT-10" + size, lists: wipers},
		{Details: stock.Details{Code: "FR-" + size, Name: "Foam ring, " + size + " mm", Kind: "foam ring", Place: "drawer B" + size}, pack: 20, cost: 1400, low: 24, high: 80, theirs: "MT-20" + size, lists: foams},
		{Details: stock.Details{Code: "BU-" + size, Name: "Bushing, " + size + " mm", Kind: "bushing", Place: "drawer C" + size, Batched: false}, pack: 4, cost: 3600, sale: 1600, low: 4, high: 8, theirs: "MT-30" + size},
	}
}

// sealsOf are the seal sets of a model.
func sealsOf(m model) (list []shelved) {
	set := func(code, what, step string, cost, sale int64, services ...string) {
		lines := []onList{}
		for _, service := range services {
			lines = append(lines, onList{service, m.name, step, 1, true})
		}
		list = append(list, shelved{Details: stock.Details{Code: code + "-" + m.name, Name: what + ", " + m.maker + " " + m.name, Kind: "seal set", Place: "drawer D"},
			pack: 1, cost: cost, sale: sale, low: 3, high: 8, theirs: "MT-" + code + m.name[:2], lists: lines})
	}
	switch {
	case m.kind == "rear shock":
		set("SK", "Air can seal set", "K10", 1150, 2400, "air-can")
		return list
	case m.spring == "air":
		set("SA", "Air spring seal set", "P6", 1200, 2600, "air-spring", "full")
	}
	step := "D1.6"
	if m.damper == "cartridge" {
		step = "D2.5"
	}
	set("SD", "Damper seal set", step, 1400, 3100, "damper", "full")
	return list
}

// stockShelf adds the suppliers, the items and the parts lists, and what the shop
// began with.
func (s *seeder) stockShelf(ctx context.Context, at time.Time) error {
	ids, err := s.modelIDs(ctx)
	if err != nil {
		return err
	}
	_, err = s.act(ctx, "stock the shelf", s.staff["Ragna"], at, func(a acting) (string, error) {
		var from []int64
		for _, p := range suppliers {
			id, err := stock.AddSupplier(a.ctx, a.tx, a.by, stock.Supplier{Name: p.name, Account: p.account, LeadDays: p.lead, MinimumMinor: &p.minimum, OrderDays: p.days,
				Mail: "orders@" + map[int]string{3: "tidewell", 6: "coldharbour"}[p.lead] + ".example.com"})
			if err != nil {
				return "", err
			}
			from = append(from, id)
		}
		for _, item := range shelf() {
			if err := s.putOnShelf(a, item, from[item.from], ids); err != nil {
				return "", fmt.Errorf("%s: %w", item.Code, err)
			}
		}
		return "", nil
	})
	return err
}

func (s *seeder) putOnShelf(a acting, item shelved, from int64, models map[string]int64) error {
	d := item.Details
	if d.Measure == "" {
		d.Measure = stock.Each
	}
	d.Low, d.High = &item.low, &item.high
	if item.sale > 0 {
		d.SaleMinor = &item.sale
	}
	for _, l := range item.lists {
		if l.model != "" {
			d.Models = append(d.Models, models[l.model])
		}
	}
	id, err := stock.Add(a.ctx, a.tx, a.by, d)
	if err != nil {
		return err
	}
	if err := stock.PutSource(a.ctx, a.tx, a.by, stock.Source{ItemID: id, SupplierID: from, Code: item.theirs, Pack: item.pack, PriceMinor: &item.cost}); err != nil {
		return err
	}
	for _, l := range item.lists {
		line := partslist.Line{Service: l.service, ModelID: models[l.model], ItemID: id, Step: l.step, Qty: l.qty, Must: l.must}
		if err := partslist.Put(a.ctx, a.tx, a.by, line); err != nil {
			return err
		}
	}
	return s.beginWith(a, stock.Item{ID: id, Details: d}, item)
}

// beginWith posts what the shop began with of an item.
func (s *seeder) beginWith(a acting, i stock.Item, of shelved) error {
	c := s.batched(order.Counted{Qty: of.high}, i, a.by.At)
	var batch int64
	if c.Batch != "" {
		var err error
		if batch, err = stock.TakeBatch(a.ctx, a.tx, a.by, i.ID, c.Batch, c.BestBefore); err != nil {
			return err
		}
	}
	cost := money.Part(s.priceAt(of.cost, a.by.At), of.high, of.pack)
	_, err := stock.Post(a.ctx, a.tx, a.by, stock.Posting{Item: i.ID, Kind: stock.Receive, Qty: of.high, Cost: cost, Batch: batch})
	if err != nil || i.Kind != stock.Fluid {
		return err
	}
	return stock.OpenBottle(a.ctx, a.tx, a.by, i.ID, batch)
}

// priceAt is what a pack cost at a time: three per cent a year less than now.
func (s *seeder) priceAt(now int64, at time.Time) int64 {
	years := s.now.Sub(at).Hours() / 24 / 365
	return int64(math.Round(float64(now) * math.Pow(1.03, -years)))
}

// shelvedRounds are the rounds of a season in parts that the shelf lasts for.
func shelvedRounds(visits []*visit) (list [][]*visit) {
	for _, round := range rounds(visits) {
		list = slices.AppendSeq(list, slices.Chunk(round, atOnce))
	}
	return list
}
