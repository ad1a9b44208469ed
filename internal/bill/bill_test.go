package bill

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// line is a standing line of the customer's of one piece at 20 % under A.
func line(minor int64, change ...func(*Line)) Line {
	l := Line{Payer: ByCustomer, Kind: "part", QtyMilli: 1000, UnitMinor: minor, TaxCode: "A", TaxName: "full", TaxBP: 2000}
	for _, c := range change {
		c(&l)
	}
	return l
}

func inside(l *Line)  { l.TaxIncluded = true }
func untaxed(l *Line) { l.TaxCode, l.TaxName, l.TaxBP = "B", "none", 0 }
func byLine(l *Line)  { l.TaxByLine = true }
func ours(l *Line)    { l.Payer = ByUs }

func times(thousandths int64) func(*Line) { return func(l *Line) { l.QtyMilli = thousandths } }
func less(minor int64) func(*Line)        { return func(l *Line) { l.DiscountMinor = minor } }

// opposite is the line's counter-line.
func opposite(l Line) Line {
	l.QtyMilli, l.DiscountMinor, l.Reverses = -l.QtyMilli, -l.DiscountMinor, 1
	return l
}

// Source of the taxed sums: testdata/money/tax.csv; of the others, decimal
// arithmetic by hand.
func TestSum(t *testing.T) {
	wrong := line(5000, untaxed, times(1500), less(100), func(l *Line) { l.ReversedBy = 2 })
	for _, c := range []struct {
		name     string
		lines    []Line
		net, tax int64
		rates    []Rate
	}{
		{name: "nothing"},
		{"the tax of one kind is rounded once", []Line{line(33, times(3000)), line(1495), line(749, times(2000))}, 3092, 618,
			[]Rate{{"A", "full", 2000, 3092, 618}}},
		{"or that of each line, where the shop has settled that", []Line{line(33, times(3000), byLine), line(1495, byLine), line(749, times(2000), byLine)}, 3092, 619,
			[]Rate{{"A", "full", 2000, 3092, 619}}},
		{"four lines by themselves", []Line{line(99, byLine), line(99, byLine), line(99, byLine), line(99, byLine)}, 396, 80,
			[]Rate{{"A", "full", 2000, 396, 80}}},
		{"tax inside the price", []Line{line(1999, inside)}, 1666, 333, []Rate{{"A", "full", 2000, 1666, 333}}},
		{"two kinds of tax", []Line{line(1000, untaxed), line(99), line(99), line(99), line(99)}, 1396, 79,
			[]Rate{{"A", "full", 2000, 396, 79}, {"B", "none", 0, 1000, 0}}},
		{"prices with tax and without stay apart until they are taxed", []Line{line(1000), line(1200, inside)}, 2000, 400,
			[]Rate{{"A", "full", 2000, 2000, 400}}},
		{"another payer's line is not the customer's", []Line{line(1000), line(5000, ours)}, 1000, 200, []Rate{{"A", "full", 2000, 1000, 200}}},
		{"a discount is off before tax", []Line{line(1000, less(250))}, 750, 150, []Rate{{"A", "full", 2000, 750, 150}}},
		{"part of a piece", []Line{line(1450, times(15))}, 22, 4, []Rate{{"A", "full", 2000, 22, 4}}},
		{"a line and its opposite leave nothing, not even their tax", []Line{line(1000), wrong, opposite(wrong)}, 1000, 200, []Rate{{"A", "full", 2000, 1000, 200}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Sum(c.lines, TheCustomer)
			if got.NetMinor != c.net || got.TaxMinor != c.tax || !slices.Equal(got.Rates, c.rates) {
				t.Errorf("net %d, tax %d, rates %+v; want %d, %d, %+v", got.NetMinor, got.TaxMinor, got.Rates, c.net, c.tax, c.rates)
			}
		})
	}
}

func TestBalance(t *testing.T) {
	paid := func(minors ...int64) (list []Payment) {
		for _, m := range minors {
			list = append(list, Payment{MinorPaid: m, Payer: ByCustomer})
		}
		return list
	}
	for _, c := range []struct {
		name         string
		bill         Bill
		billed, owed int64
		settled      bool
	}{
		{"no bill is not settled", Bill{}, 0, 0, false},
		{"unpaid", Bill{Lines: []Line{line(6000)}}, 7200, 7200, false},
		{"part-paid", Bill{Lines: []Line{line(6000)}, Payments: paid(3000)}, 7200, 4200, false},
		{"paid in two", Bill{Lines: []Line{line(6000)}, Payments: paid(3000, 4200)}, 7200, 0, true},
		{"too much, and given back", Bill{Lines: []Line{line(6000)}, Payments: paid(8000, -800)}, 7200, 0, true},
		{"paid ahead", Bill{Payments: paid(2000)}, 0, -2000, false},
		{"all at our cost", Bill{Lines: []Line{line(6000, ours)}}, 0, 0, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := c.bill.Balance()
			if b.BilledMinor != c.billed || b.OwedMinor() != c.owed || b.Settled() != c.settled {
				t.Errorf("billed %d, owed %d, settled %v; want %d, %d, %v", b.BilledMinor, b.OwedMinor(), b.Settled(), c.billed, c.owed, c.settled)
			}
		})
	}
}

func TestOverLimit(t *testing.T) {
	limit := int64(7000)
	for _, c := range []struct {
		bill Bill
		want int64
	}{
		{Bill{Lines: []Line{line(6000)}}, 0},
		{Bill{LimitMinor: &limit, Lines: []Line{line(5000)}}, 0},
		{Bill{LimitMinor: &limit, Lines: []Line{line(6000)}}, 200},
		{Bill{LimitMinor: &limit, Lines: []Line{line(5000), line(5000, ours)}}, 0},
	} {
		if got := c.bill.OverLimit(); got != c.want {
			t.Errorf("%+v is %d over, want %d", c.bill, got, c.want)
		}
	}
}

func TestTheNetOfLinesAddsUpToTheNetOfTheBill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var lines []Line
		for range rapid.IntRange(0, 6).Draw(t, "lines") {
			l := line(rapid.Int64Range(0, 100_000).Draw(t, "price"), times(rapid.Int64Range(1, 5000).Draw(t, "thousandths")))
			l.TaxIncluded, l.TaxByLine = rapid.Bool().Draw(t, "inside"), rapid.Bool().Draw(t, "by line")
			l.TaxBP = rapid.SampledFrom([]int{0, 550, 2000}).Draw(t, "bp")
			lines = append(lines, l)
		}
		var sum int64
		for _, net := range Nets(lines) {
			sum += net
		}
		if want := Sum(lines, TheCustomer).NetMinor; sum != want {
			t.Errorf("the lines come to %d net, the bill to %d", sum, want)
		}
	})
}
