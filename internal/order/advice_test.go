package order

import (
	"context"
	"encoding/csv"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/csvfile"
	"damperdesk/internal/stock"
)

// Source: median and largest of a list by hand.
func TestHowLongDeliveriesTake(t *testing.T) {
	for _, c := range []struct {
		days []int
		want LeadTime
	}{{nil, LeadTime{}}, {[]int{4, 6}, LeadTime{2, 5, 6, 5, 2}}, {[]int{9, 3, 4}, LeadTime{3, 4, 9, 16. / 3, 31. / 3}}, {[]int{2, 5, 3, 10}, LeadTime{4, 4, 10, 5, 38. / 3}}} {
		got := LeadOf(c.days)
		if math.Abs(got.Mean-c.want.Mean) > 1e-9 || math.Abs(got.Variance-c.want.Variance) > 1e-9 {
			t.Errorf("LeadOf(%v) has mean %v, variance %v, want %+v", c.days, got.Mean, got.Variance, c.want)
		}
		got.Mean, got.Variance = c.want.Mean, c.want.Variance
		if got != c.want || got.Known() != (len(c.days) >= 3) {
			t.Errorf("LeadOf(%v) = %+v, want %+v", c.days, got, c.want)
		}
	}
	d := open(t)
	a := d.item("a", 5, 1000)
	for _, days := range [][2]int{{3, 9}, {4, 4}} { // two deliveries of each order
		o, lines := d.sent(a)
		d.later(days[0]).receive(o, Counted{Item: a, Line: lines[0].ID, Qty: 5})
		d.later(days[1]).receive(o, Counted{Item: a, Line: lines[0].ID, Qty: 5})
	}
	if got, err := Lead(context.Background(), d.tx, d.supplier, time.UTC); err != nil || got.N != 4 || got.Median != 4 || got.Worst != 9 || got.Mean != 5 {
		t.Errorf("measured %+v, %v", got, err)
	}
}

func TestWhatIsAdvised(t *testing.T) {
	d := open(t)
	levels := func(low, high int64) func(*stock.Details) {
		return func(i *stock.Details) { i.Low, i.High = &low, &high }
	}
	a, full := d.item("a", 5, 1000, levels(6, 12)), d.item("full", 1, 100, levels(0, 3))
	job := d.item("job", 1, 100)
	none, err := stock.Add(context.Background(), d.tx, d.act(), stock.Details{Code: "lone", Name: "Spacer", Kind: "spacer", Measure: stock.Each, Low: of(2)})
	d.must(err)
	advice := func(wanted map[int64]Wanted) (ids []int64, list []Advised) {
		list, more, err := Advice(context.Background(), d.tx, wanted, nil)
		d.must(err)
		if more {
			t.Error("there is more")
		}
		for _, x := range list {
			ids = append(ids, x.ItemID)
		}
		return ids, list
	}
	ids, list := advice(map[int64]Wanted{job: {Qty: 2, Jobs: 1}})
	if !slices.Equal(ids, []int64{job, a, none}) || list[0].Qty != 2 || list[1].Qty != 15 || list[2].SupplierID != 0 || list[2].Qty != 4 {
		t.Fatalf("advised %v: %+v", ids, list)
	}
	id := d.wish(a, list[1].Qty)
	if ids, _ := advice(nil); !slices.Equal(ids, []int64{none}) {
		t.Errorf("what is in a draft is advised again: %v", ids)
	}
	d.must(Send(context.Background(), d.tx, d.act(), id, 0, nil, time.UTC))
	o, lines := d.order(id)
	d.receive(o, Counted{Item: a, Line: lines[0].ID, Qty: 5, Short: Short, Words: "Sold out", Cancel: true})
	if _, list := advice(nil); len(list) != 2 || list[0].ItemID != a || list[0].Free != 5 || list[0].OnOrder != 0 || list[0].Suggestion.Qty != 10 {
		t.Errorf("after the rest was cancelled: %+v", list)
	}
	list, _, err = Advice(context.Background(), d.tx, nil, map[int64]Level{full: {Low: of(4), High: of(4), Basis: []Reason{{Words: "4 used a month"}}}})
	d.must(err)
	if at := slices.IndexFunc(list, func(x Advised) bool { return x.ItemID == full }); at < 0 || list[at].Suggestion.Qty != 4 || list[at].Why[0].Words == "" {
		t.Errorf("by a level of another source: %+v", list)
	}
}

func TestTheFileForTheSupplier(t *testing.T) {
	d := open(t)
	_, lines := d.sent(d.item("=a", 5, 1050))
	lines = append(lines, Line{Code: "unasked", Pack: 1})
	got, err := File(lines, "EUR")
	d.must(err)
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(got), csvfile.Mark))).ReadAll()
	want := [][]string{{"supplier code", "our code", "name", "packs", "amount", "price of a pack, EUR"}, {"NG =a", "'=a", "Wiper =a", "2", "10", "10.50"}}
	if err != nil || !reflect.DeepEqual(rows, want) {
		t.Errorf("%v, %v", rows, err)
	}
}
