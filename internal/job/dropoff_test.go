package job

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"damperdesk/internal/customer"
	"damperdesk/internal/procedure"
)

var noon = time.Date(2026, 10, 13, 12, 0, 0, 0, time.UTC)

// goodDropOff is one that is taken, with what the database knows for it.
func goodDropOff() (DropOff, known) {
	kg := 73.9
	d := DropOff{
		CustomerID: 5, Came: "counter", GoesBack: "pickup", PromisedAt: noon.Add(48 * time.Hour), Currency: "GBP",
		TermsID: 3, TermsBy: "Odette Marsh",
		Units: []DropOffUnit{{
			UnitID: 7, CameAs: "unit only", RiderKG: &kg, Symptoms: []string{"harsh", "sticky"}, Services: []string{"lower-leg"},
			OldParts: "bin", MechanicID: 2,
		}},
	}
	return d, known{
		customer: true, terms: true, services: []procedure.Service{
			{Code: "lower-leg", Name: "Lower-leg service", Kinds: []string{"fork"}},
			{Code: "air-spring", Name: "Air-spring service", Kinds: []string{"fork"}},
			{Code: "coil-spring", Name: "Coil-spring service", Kinds: []string{"fork"}},
			{Code: "other", Name: "Other work", Kinds: []string{"fork", "rear shock", "seatpost"}},
		}, springs: map[int64]string{31: "air", 32: "coil"}, mechanics: map[int64]bool{2: true},
		units: map[int64]customer.Unit{
			7: {ID: 7, CustomerID: 5, Kind: "fork", Name: "Tindra Lode"},
			8: {ID: 8, CustomerID: 5, Kind: "rear shock", Name: "Tindra Ebb"},
			9: {ID: 9, CustomerID: 6, Kind: "fork", Name: "Orrery Node"},
		},
	}
}

func TestDropOffThatIsTaken(t *testing.T) {
	for name, change := range map[string]func(*DropOff, *known){
		"as it is": func(d *DropOff, k *known) {},
		"no terms": func(d *DropOff, k *known) { d.TermsID, d.TermsBy = 0, "" },
		"nothing known": func(d *DropOff, k *known) {
			d.Units[0].RiderKG, d.Units[0].Symptoms, d.Units[0].MechanicID = nil, nil, 0
		},
		"a limit of none":   func(d *DropOff, k *known) { d.LimitMinor = new(int64) },
		"a promise at once": func(d *DropOff, k *known) { d.PromisedAt = noon.Add(time.Minute) },
		"a heavy rider, confirmed": func(d *DropOff, k *known) {
			*d.Units[0].RiderKG, d.Units[0].RiderSure = 171, true
		},
		"a child": func(d *DropOff, k *known) { *d.Units[0].RiderKG = 20 },
		"a shock for other work": func(d *DropOff, k *known) {
			d.Units[0].UnitID, d.Units[0].Services, d.Units[0].Complaint = 8, []string{"other"}, "squeaks"
		},
		"either spring where none is known": func(d *DropOff, k *known) {
			d.Units[0].Services = []string{"air-spring", "coil-spring"}
		},
		"somebody new": func(d *DropOff, k *known) {
			d.CustomerID, d.NewCustomer = 0, customer.Details{Name: "Odette Marsh"}
			d.Units[0].UnitID, d.Units[0].NewUnit = 0, customer.UnitDetails{Kind: "fork", ModelWords: "black fork"}
		},
	} {
		d, k := goodDropOff()
		change(&d, &k)
		if f := d.tidy().check(noon, k); len(f) != 0 {
			t.Errorf("%s: %v; want it taken", name, f)
		}
	}
}

// Source for the weight that is asked about, 20 to 160 kg: the table of spec
// keys, common practice (no source).
func TestDropOffThatIsRefused(t *testing.T) {
	kg := func(d *DropOff, v float64) { d.Units[0].RiderKG = &v }
	for _, c := range []struct {
		name   string
		change func(*DropOff, *known)
		field  string
		says   string
	}{
		{"promised now", func(d *DropOff, k *known) { d.PromisedAt = noon }, "promised", "past"},
		{"no promise", func(d *DropOff, k *known) { d.PromisedAt = time.Time{} }, "promised", "by when"},
		{"promised for the year after", func(d *DropOff, k *known) { d.PromisedAt = noon.AddDate(1, 0, 2) }, "promised", "more than a year"},
		{"a customer gone", func(d *DropOff, k *known) { k.customer = false }, "customer", "not here any more"},
		{"a new customer without a name", func(d *DropOff, k *known) { d.CustomerID = 0 }, "name", "name"},
		{"came by balloon", func(d *DropOff, k *known) { d.Came = "balloon" }, "came", "Choose"},
		{"goes back by balloon", func(d *DropOff, k *known) { d.GoesBack = "balloon" }, "goesback", "Choose"},
		{"a limit below zero", func(d *DropOff, k *known) { v := int64(-1); d.LimitMinor = &v }, "limit", "below zero"},
		{"terms nobody accepted", func(d *DropOff, k *known) { d.TermsBy = " " }, "terms", "who accepted"},
		{"terms of nobody", func(d *DropOff, k *known) { k.terms = false }, "terms", "not the shop’s"},
		{"no unit", func(d *DropOff, k *known) { d.Units = nil }, "units", "at least one"},
		{"too many units", func(d *DropOff, k *known) { d.Units = make([]DropOffUnit, 13) }, "units", "at most 12"},
		{"a unit gone", func(d *DropOff, k *known) { d.Units[0].UnitID = 77 }, "unit0.unit", "not here any more"},
		{"another’s unit", func(d *DropOff, k *known) { d.Units[0].UnitID = 9 }, "unit0.unit", "another customer’s"},
		{"a unit that is here", func(d *DropOff, k *known) {
			k.units[7] = customer.Unit{ID: 7, CustomerID: 5, Kind: "fork", Name: "Tindra Lode", OpenJob: 4141}
		}, "unit0.unit", "Tindra Lode is here already, on ticket 4141."},
		{"a unit twice", func(d *DropOff, k *known) { d.Units = append(d.Units, d.Units[0]) }, "unit1.unit", "twice"},
		{"came as a box", func(d *DropOff, k *known) { d.Units[0].CameAs = "box" }, "unit0.cameas", "Choose"},
		{"old parts to the moon", func(d *DropOff, k *known) { d.Units[0].OldParts = "moon" }, "unit0.oldparts", "Choose"},
		{"no mechanic of ours", func(d *DropOff, k *known) { d.Units[0].MechanicID = 4 }, "unit0.mechanic", "works here"},
		{"a rider of 19 kg", func(d *DropOff, k *known) { kg(d, 19) }, "unit0.rider", "Really 19 kg?"},
		{"a rider of 161 kg", func(d *DropOff, k *known) { kg(d, 161) }, "unit0.rider", "Really 161 kg?"},
		{"a rider of 800 kg, confirmed", func(d *DropOff, k *known) { kg(d, 800); d.Units[0].RiderSure = true }, "unit0.rider", "cannot be"},
		{"a rider of no number", func(d *DropOff, k *known) { kg(d, math.NaN()) }, "unit0.rider", "cannot be"},
		{"a symptom nobody knows", func(d *DropOff, k *known) { d.Units[0].Symptoms = []string{"sings"} }, "unit0.symptoms", "not on the list"},
		{"nothing wrong, but dives", func(d *DropOff, k *known) { d.Units[0].Symptoms = []string{"dives", JustDue} }, "unit0.symptoms", "Either"},
		{"the other spring of a unit", func(d *DropOff, k *known) {
			k.units[7] = customer.Unit{ID: 7, CustomerID: 5, Kind: "fork", Spring: "air"}
			d.Units[0].Services = []string{"lower-leg", "coil-spring"}
		}, "unit0.services", "“Coil-spring service” is not for a fork with an air spring: “Air-spring service” fits it."},
		{"the other spring of a new unit", func(d *DropOff, k *known) {
			d.Units[0].UnitID, d.Units[0].NewUnit = 0, customer.UnitDetails{Kind: "fork", ModelID: 32}
			d.Units[0].Services = []string{"air-spring"}
		}, "unit0.services", "“Air-spring service” is not for a fork with a coil spring: “Coil-spring service” fits it."},
		{"a service nobody offers", func(d *DropOff, k *known) { d.Units[0].Services = []string{"polish"} }, "unit0.services", "not offered"},
		{"a fork without a service", func(d *DropOff, k *known) {
			d.Units[0].Services, d.Units[0].Complaint = nil, "squeaks"
		}, "unit0.services", "at least one service"},
		{"a shock without a service", func(d *DropOff, k *known) {
			d.Units[0].UnitID, d.Units[0].Services, d.Units[0].Complaint = 8, nil, "squeaks"
		}, "unit0.services", "at least one service"},
		{"the lower legs of a shock", func(d *DropOff, k *known) { d.Units[0].UnitID = 8 },
			"unit0.services", "“Lower-leg service” is not for a rear shock"},
		{"the lower legs of a new seatpost", func(d *DropOff, k *known) {
			d.Units[0].UnitID, d.Units[0].NewUnit = 0, customer.UnitDetails{Kind: "seatpost", ModelWords: "grey post"}
		}, "unit0.services", "not for a seatpost"},
		{"an endless complaint", func(d *DropOff, k *known) { d.Units[0].Complaint = strings.Repeat("a", 2001) }, "unit0.complaint", "too long"},
	} {
		d, k := goodDropOff()
		c.change(&d, &k)
		if got := d.tidy().check(noon, k); !strings.Contains(got[c.field], c.says) {
			t.Errorf("%s: %v; want %s to say %q", c.name, got, c.field, c.says)
		}
	}
}

func TestDropOffSaysEverythingAtOnce(t *testing.T) {
	d, k := goodDropOff()
	d.CustomerID, d.PromisedAt, d.Units[0].Services = 0, noon, nil
	var fields []string
	for field := range d.tidy().check(noon, k) {
		fields = append(fields, field)
	}
	slices.Sort(fields)
	if want := []string{"name", "promised", "unit0.services", "unit0.unit"}; !slices.Equal(fields, want) {
		t.Errorf("faults in %q, want %q", fields, want)
	}
}
