package bill

import "testing"

// Source: decimal arithmetic by hand, a fifth on 90.00.
func TestAnEstimateStaysAsItWasTold(t *testing.T) {
	c := opened(t)
	c.must(Tell(ctx, c.tx, c.by(c.desk), c.visit, false))
	c.must(SetPrices(ctx, c.tx, c.by(c.owner), []Price{{ServiceCode: "air", Minor: minor(9900), Currency: "GBP", TaxCode: "A", Version: 1}}))
	e, err := Told(ctx, c.tx, c.visit)
	c.must(err)
	if e.TotalMinor != 10_800 || e.TaxMinor != 1800 || len(e.Lines) != 2 || *e.Lines[0].Minor != 9000 || e.Unpriced() != 1 {
		t.Errorf("told was %+v", e)
	}
	if none, err := Told(ctx, c.tx, c.visit+1); err != nil || none.ID != 0 {
		t.Errorf("of a visit that is not there: %+v, %v", none, err)
	}
	c.sound()
}
