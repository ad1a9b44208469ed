package job_test

import (
	"slices"
	"strings"
	"testing"

	"damperdesk/internal/customer"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestTakeInOfSeveralUnits(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	limit, kg := int64(15000), 73.9
	visit, err := job.TakeIn(ctx, tx, d.by, job.DropOff{
		NewCustomer: customer.Details{Name: "Noor Ashby", Mail: "noor@example.com"},
		Came:        "post", GoesBack: "post", PromisedAt: d.by.At.AddDate(0, 0, 3), LimitMinor: &limit, Currency: "GBP",
		LeftWith: " light mount ",
		Units: []job.DropOffUnit{
			{
				NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "black fork", Serial: "TL-1", BikeColour: "green"},
				CameAs:  "whole bike", HangsAt: "hook 4", RiderKG: &kg, RiderEntered: "11st 9lb", Riding: "trail", EBike: true,
				Symptoms: []string{"scratch", "sticky", "sticky"}, Complaint: "like gravel", Services: []string{"test-air", "test-lower"},
				OldParts: "give back", MechanicID: d.mechanic.Staff,
			},
			{NewUnit: customer.UnitDetails{Kind: "rear shock", ModelWords: "coil shock"}, Complaint: "squeaks", Services: []string{"test-air"}},
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	v, err := job.Visit(ctx, tx, visit)
	if err != nil || len(v.Jobs) != 2 || v.Open() != 2 {
		t.Fatalf("Visit = %+v, %v; want two open jobs", v, err)
	}
	if v.Customer != "Noor Ashby" || v.LeftWith != "light mount" || *v.LimitMinor != limit || v.OpenedBy == "" || v.GoesBack != "post" {
		t.Errorf("Visit = %+v", v)
	}
	fork, shock := v.Jobs[0], v.Jobs[1]
	if shock.Number != fork.Number+1 || shock.CameAs != "unit only" || shock.OldParts != "bin" || shock.MechanicID != nil {
		t.Errorf("second job = %+v; want the next ticket and the usual choices", shock)
	}
	if fork.Stage != job.Arrived || fork.Unit != "black fork" || !fork.EBike || *fork.RiderKG != kg || fork.RiderEntered != "11st 9lb" ||
		fork.Complaint != "like gravel" || fork.HangsAt != "hook 4" || *fork.MechanicID != d.mechanic.Staff || fork.BikeColour != "green" {
		t.Errorf("first job = %+v", fork)
	}
	if !slices.Equal(fork.Symptoms, []string{"sticky", "scratch"}) || !slices.Equal(fork.Services, []string{"test-lower", "test-air"}) ||
		!slices.Equal(fork.ServiceNames, []string{"Lower-leg service", "Air-spring service"}) {
		t.Errorf("symptoms %q, services %q, %q", fork.Symptoms, fork.Services, fork.ServiceNames)
	}
	byNumber, err := job.ByNumber(ctx, tx, fork.Number)
	if err != nil || byNumber.ID != fork.ID {
		t.Errorf("ByNumber = %d, %v; want %d", byNumber.ID, err, fork.ID)
	}
	d.wantStage(fork.ID, job.Arrived)
	d.wantLast(fork.ID, "job opened")
	entries, err := history.Read(ctx, tx, history.OfCustomer, v.CustomerID, 0)
	var kinds []string
	for _, e := range entries {
		kinds = append(kinds, e.Kind)
	}
	if want := "message posted, job opened, unit added, job opened, unit added, visit opened, customer added"; strings.Join(kinds, ", ") != want {
		t.Errorf("history %q, %v; want %q", kinds, err, want)
	}
}

func TestTakeInSavesNothingWhenAnythingIsWrong(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	here := d.takeIn()
	count := func() (n int) {
		err := tx.QueryRow(ctx, "select (select count(*) from customer) + (select count(*) from unit) + (select count(*) from visit) + (select count(*) from event)").Scan(&n)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	before := count()
	wrong := job.DropOff{
		NewCustomer: customer.Details{Phone: "?"}, PromisedAt: d.by.At, Currency: "GBP", TermsID: 1 << 40,
		Units: []job.DropOffUnit{
			{UnitID: here.UnitID},
			{NewUnit: customer.UnitDetails{Kind: "fork", Tag: "T-77"}, Services: []string{"test-lower"}, MechanicID: d.by.Staff},
			{NewUnit: customer.UnitDetails{Kind: "fork", ModelWords: "grey", Tag: "t-77"}, Services: []string{"test-polish"}},
			{UnitID: 1 << 40},
		},
	}
	_, err := job.TakeIn(ctx, tx, d.by, wrong)
	for _, field := range []string{"name", "phone", "promised", "terms", "unit0.unit", "unit0.services", "unit1.model", "unit1.mechanic",
		"unit2.tag", "unit2.services", "unit3.unit"} {
		if !isInvalid(err, field) {
			t.Errorf("TakeIn: %v; want a fault in %s", err, field)
		}
	}
	if after := count(); after != before {
		t.Errorf("%d rows before, %d after a refusal", before, after)
	}
}

func TestTakeInRefusesAUnitThatIsHere(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	d.takeIn()
	if _, err := job.TakeIn(ctx, tx, d.by, d.dropOff(d.fork)); !isInvalid(err, "unit0.unit") || !strings.Contains(err.Error(), "Tindra Lode is here already, on ticket") {
		t.Errorf("TakeIn of a unit that is here: %v", err)
	}
}

func TestUnitComesBackAfterItLeft(t *testing.T) {
	tx := dbtest.Tx(t)
	d := newDesk(t, tx)
	first := d.takeIn()
	if err := job.Cancel(ctx, tx, d.by, first.ID, "returned undone", ""); err != nil {
		t.Fatal(err)
	}
	if second := d.takeIn(); second.Number <= first.Number {
		t.Errorf("ticket %d after %d", second.Number, first.Number)
	}
	list, err := job.ClosedOf(ctx, tx, d.customer, 0, 0)
	if err != nil || len(list) != 1 || list[0].ID != first.ID || list[0].Ending != "returned undone" || list[0].Unit != "Tindra Lode" {
		t.Errorf("ClosedOf the customer = %+v, %v", list, err)
	}
	if list, err = job.ClosedOf(ctx, tx, 0, d.fork, first.ID); err != nil || len(list) != 0 {
		t.Errorf("ClosedOf the unit before the first = %+v, %v; want none", list, err)
	}
}

func TestReadersSayNotFound(t *testing.T) {
	tx := dbtest.Tx(t)
	if _, err := job.Get(ctx, tx, 1<<40); !isNotFound(err) {
		t.Errorf("Get: %v", err)
	}
	if _, err := job.ByNumber(ctx, tx, 1<<30); !isNotFound(err) {
		t.Errorf("ByNumber: %v", err)
	}
	if _, err := job.Visit(ctx, tx, 1<<40); !isNotFound(err) {
		t.Errorf("Visit: %v", err)
	}
}
