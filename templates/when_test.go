package templates

import (
	"testing"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/quantity"
	"damperdesk/internal/shop"
)

func TestInstantsAreSaidInTheShopsZone(t *testing.T) {
	b := base(t)
	at := func(s string) time.Time {
		v, err := time.Parse(time.RFC3339, s)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, c := range []struct {
		say  func(time.Time) string
		at   string
		want string
	}{
		{b.Clock, "2025-10-14T16:00:00Z", "17:00"},
		{b.Day, "2025-10-16T12:00:00Z", "Thu 16 Oct"},
		{b.Day, "2024-10-16T12:00:00Z", "Wed 16 Oct 2024"},
		{b.LongDay, "2025-10-14T12:00:00Z", "Tuesday 14 October"},
		{b.LongDay, "2025-10-14T23:30:00Z", "Wednesday 15 October"}, // past midnight in London
		{b.When, "2025-10-14T16:00:00Z", "today 17:00"},
		{b.When, "2025-10-13T16:00:00Z", "Mon 17:00"},
		{b.When, "2025-10-20T16:00:00Z", "Mon 17:00"},
		{b.When, "2025-10-21T16:00:00Z", "Tue 21 Oct, 17:00"},
		{b.When, "2025-10-26T16:00:00Z", "Sun 26 Oct, 16:00"}, // the clocks went back that night
		{b.DayHeading, "2025-10-13T12:00:00Z", "Yesterday, Monday 13 October"},
		{b.DayHeading, "2025-10-14T12:00:00Z", "Today, Tuesday 14 October"},
		{b.DayHeading, "2025-10-15T12:00:00Z", "Tomorrow, Wednesday 15 October"},
		{b.DayHeading, "2025-10-16T12:00:00Z", "Thursday 16 October"},
		{b.Date, "2025-03-14T00:00:00Z", "14 March"},
		{b.Date, "2026-03-14T00:00:00Z", "14 March 2026"},
		{b.Stamp, "2025-10-14T13:12:00Z", "2025-10-14T14:12:00+01:00"},
		{b.FieldMoment, "2025-10-14T13:12:00Z", "2025-10-14T14:12"},
	} {
		if got := c.say(at(c.at)); got != c.want {
			t.Errorf("%s is said as %q, want %q", c.at, got, c.want)
		}
	}
}

func TestLong(t *testing.T) {
	for _, c := range []struct {
		d    time.Duration
		want string
	}{
		{0, "0 min"},
		{29 * time.Second, "0 min"},
		{20 * time.Minute, "20 min"},
		{80 * time.Minute, "1 h 20 min"},
		{-80 * time.Minute, "1 h 20 min"},
		{2 * time.Hour, "2 h"},
		{24 * time.Hour, "1 day"},
		{51*time.Hour + 20*time.Minute, "2 days 3 h"},
	} {
		if got := Long(c.d); got != c.want {
			t.Errorf("Long(%v) = %q, want %q", c.d, got, c.want)
		}
	}
}

// Factors: NIST SP 811, Appendix B.8 (lbf·in 0.1129848 N·m, psi 6894.757 Pa).
func TestQuantitiesAreInTheShopsUnits(t *testing.T) {
	metric := Prefs{TorqueUnit: quantity.NewtonMetre, PressureUnit: quantity.Bar}
	inches := Prefs{TorqueUnit: quantity.PoundForceInch, PressureUnit: quantity.PSI}
	for _, c := range []struct{ got, want string }{
		{metric.Torque(7.3), "7.3\u00a0N·m"},
		{inches.Torque(7.3), "65\u00a0lbf·in"},
		{metric.Pressure(565370), "5.65\u00a0bar"},
		{inches.Pressure(565370), "82\u00a0psi"},
		{metric.Volume(1e-5), "10\u00a0mL"},
		{metric.Window(quantity.KindTorque, 6.8, 7.8), "6.8 to 7.8\u00a0N·m"},
		{WindowIn(quantity.KindTorque, 6.8, 7.8, metric.OtherUnit(quantity.KindTorque)), "60 to 69\u00a0lbf·in"},
		{metric.Window(quantity.KindTorque, 7, 7), "7\u00a0N·m"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// Minor units: ISO 4217 (GBP 2, JPY 0, BHD 3).
func TestMoney(t *testing.T) {
	p := Prefs{Currency: "GBP"}
	for _, c := range []struct {
		minor int64
		code  string
		want  string
	}{
		{15000, "", "£150.00"}, {15000, "JPY", "¥15,000"}, {1500, "EUR", "€15.00"}, {1500, "BHD", "BHD\u00a01.500"}, {1, "???", "?"},
	} {
		if got := p.Money(c.minor, c.code); got != c.want {
			t.Errorf("Money(%d, %q) = %q, want %q", c.minor, c.code, got, c.want)
		}
	}
}

// Day orders: 28 November 2026 and November 28, 2026 are common practice (no source);
// 2026-11-28 is ISO 8601.
func TestACustomerReadsInTheirWay(t *testing.T) {
	b := base(t) // 14 October 2025
	evening := time.Date(2026, 11, 28, 17, 5, 0, 0, time.UTC)
	noon := time.Date(2025, 11, 8, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		way  customer.Way
		want []string
	}{
		{customer.Way{}, []string{"28 November 2026", "Sat 28 Nov 2026, 17:05", "Saturday 8 November", "8 November", "12:00",
			"82\u00a0psi", "74.5\u00a0kg", "7.3\u00a0N·m", "6.8 to 7.8\u00a0N·m", "£1,234.50", "10:00", "00:00", "24:00"}},
		{customer.Way{Pressure: "bar", Mass: "lb", Torque: "lbf·in", Days: "month day", Clock: "12", Decimals: "comma"},
			[]string{"November 28, 2026", "Sat, Nov 28, 2026, 5:05\u00a0pm", "Saturday, November 8", "November 8", "12:00\u00a0pm",
				"5,65\u00a0bar", "164\u00a0lb", "65\u00a0lbf·in", "60 to 69\u00a0lbf·in", "£1.234,50", "10:00\u00a0am", "12:00\u00a0am", "midnight"}},
		{customer.Way{Pressure: "kPa", Days: "year month day", Clock: "24", Decimals: "point"},
			[]string{"2026-11-28", "Sat 2026-11-28, 17:05", "Saturday 2025-11-08", "2025-11-08", "12:00",
				"565\u00a0kPa", "74.5\u00a0kg", "7.3\u00a0N·m", "6.8 to 7.8\u00a0N·m", "£1,234.50", "10:00", "00:00", "24:00"}},
	} {
		b := b
		b.Prefs = b.Prefs.For(c.way)
		p := b.Prefs
		got := []string{b.Date(evening), b.Moment(evening), b.LongDay(noon), b.Date(noon), b.Clock(noon),
			p.Pressure(565370), p.Mass(74.5), p.Torque(7.3), p.Window(quantity.KindTorque, 6.8, 7.8), p.Money(123450, ""),
			p.Minute(600), p.Minute(0), p.Minute(shop.DayEnd)}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("%+v: %q, want %q", c.way, got[i], c.want[i])
			}
		}
	}
}
