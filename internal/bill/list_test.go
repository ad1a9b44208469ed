package bill

import "testing"

// Source: arithmetic by hand, 45 and 30 minutes at 62.45 an hour; minutes and
// prices are invented.
func TestAModelsPriceComesBeforeThatOfTheService(t *testing.T) {
	c := opened(t)
	var model int64
	c.must(c.tx.QueryRow(ctx, "insert into model (kind, maker, name, spring, damper) values ('fork', 'Tindra', 'Lode', 'air', 'shared oil') returning id").Scan(&model))
	c.exec("insert into book_time (service_code, model_id, minutes) values ('own', null, 45), ('own', $1, 30)", model)
	hour := Hour{Minor: minor(6245), Currency: "GBP"}
	if err := SetPrices(ctx, c.tx, c.by(c.owner), []Price{{ServiceCode: "own", ByTime: true, Currency: "GBP", TaxCode: "A"}}); err == nil {
		t.Error("book time without an hourly rate was taken")
	}
	c.must(SetHour(ctx, c.tx, c.by(c.owner), hour))
	c.must(SetPrices(ctx, c.tx, c.by(c.owner), []Price{
		{ServiceCode: "own", ByTime: true, Currency: "GBP", TaxCode: "A"},
		{ServiceCode: "lower", ModelID: model, Minor: minor(7500), Currency: "GBP", TaxCode: "B"},
		{ServiceCode: "air", ModelID: model, Minor: minor(9900), Currency: "GBP", TaxCode: "A"}}))
	c.must(SetPrices(ctx, c.tx, c.by(c.owner), []Price{{ServiceCode: "air", ModelID: model, Currency: "GBP", Version: 1}}))
	list, err := Listed(ctx, c.tx)
	c.must(err)
	for _, want := range []struct {
		name    string
		service string
		model   int64
		minor   int64
		minutes int
		tax     string
	}{
		{"no model", "lower", 0, 6000, 0, "A"},
		{"another model", "lower", model + 1, 6000, 0, "A"},
		{"the model", "lower", model, 7500, 0, "B"},
		{"the model again as any other", "air", model, 9000, 0, "A"},
		{"book time, 46.8375", "own", 0, 4684, 45, "A"},
		{"the book time of the model, 31.225", "own", model, 3123, 30, "A"},
	} {
		got := list.For(want.service, want.model, "GBP")
		if got.Minor == nil || *got.Minor != want.minor || got.Minutes != want.minutes || got.Tax.Code != want.tax {
			t.Errorf("%s: %+v, want %d by %d min under %s", want.name, got, want.minor, want.minutes, want.tax)
		}
	}
	if got := list.For("own", model, "DKK"); got.Minor != nil || got.Minutes != 0 {
		t.Errorf("in another currency: %+v", got)
	}
	c.sound()
}

func TestALineByBookTimeSaysHowItWasGotAndStays(t *testing.T) {
	c := opened(t)
	c.exec("insert into book_time (service_code, minutes) values ('own', 45)")
	c.must(SetHour(ctx, c.tx, c.by(c.owner), Hour{Minor: minor(6000), Currency: "GBP"}))
	c.must(SetPrices(ctx, c.tx, c.by(c.owner), []Price{{ServiceCode: "own", ByTime: true, Currency: "GBP", TaxCode: "A"}}))
	c.must(TakeListed(ctx, c.tx, c.by(c.desk), c.visit, false))
	c.must(SetHour(ctx, c.tx, c.by(c.owner), Hour{Minor: minor(9000), Currency: "GBP", Version: 1}))
	lines := c.bill().Lines
	if last := lines[len(lines)-1]; last.UnitMinor != 4500 || last.Words != "Other work, 45 min at £60.00 an hour" {
		t.Errorf("the line is %+v", last)
	}
	if err := SetHour(ctx, c.tx, c.by(c.owner), Hour{Minor: minor(1), Currency: "GBP", Version: 1}); err == nil {
		t.Error("a rate that somebody else changed meanwhile was set")
	}
	c.sound()
}
