package job_test

import (
	"strings"
	"testing"

	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
)

func TestPaymentComesBeforeTheParcel(t *testing.T) {
	paid := job.Parcel{Carrier: "Hillfoot Parcels", Tracking: " HP7001 ", AirOut: true, Billed: true, Currency: "GBP"}
	owed := paid
	owed.OwedMinor = 6500
	reason := owed
	reason.Unpaid = "bank transfer on its way"
	nobill := paid
	nobill.Billed = false
	ahead := paid
	ahead.OwedMinor = -500
	nameless := paid
	nameless.Carrier = " "
	for _, c := range []struct {
		name   string
		p      job.Parcel
		role   string
		field  string // that is refused; empty: it goes
		unpaid string
	}{
		{"paid", paid, "mechanic", "", ""},
		{"paid too much", ahead, "mechanic", "", ""},
		{"nobody carries it", nameless, "desk", "carrier", ""},
		{"owed", owed, "desk", "unpaid", ""},
		{"no bill", nobill, "desk", "unpaid", ""},
		{"owed, with a reason of the desk", reason, "desk", "", "bank transfer on its way"},
		{"owed, with a reason of a mechanic", reason, "mechanic", "how", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			tx := dbtest.Tx(t)
			d := newDesk(t, tx)
			id := d.takeIn().ID
			d.bring(id, job.OnBench, job.FinalCheck, job.Ready)
			by := history.By{Staff: d.by.Staff, Roles: []string{c.role}, Intent: d.by.Intent, At: d.by.At}
			err := job.SendBack(ctx, tx, by, id, c.p)
			if c.field != "" {
				if !isInvalid(err, c.field) {
					t.Errorf("got %v, want %s refused", err, c.field)
				}
				d.wantStage(id, job.Ready)
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			j := d.wantStage(id, job.SentBack)
			if j.Carrier != "Hillfoot Parcels" || j.Tracking != "HP7001" || !j.AirOut || j.Unpaid != c.unpaid || j.Ending != job.Done {
				t.Errorf("sent job = %+v", j)
			}
		})
	}
}

// A mail order without the address it goes to would stay on the shelf.
func TestDropOffKeepsWhereTheParcelGoes(t *testing.T) {
	for goesBack, want := range map[string]string{"post": "3 Mill Lane\nHillfoot", "pickup": ""} {
		t.Run(goesBack, func(t *testing.T) {
			d := newDesk(t, dbtest.Tx(t))
			drop := d.dropOff(d.fork)
			drop.GoesBack, drop.Address = goesBack, " 3 Mill Lane\nHillfoot "
			visit, err := job.TakeIn(ctx, d.tx, d.by, drop)
			if err != nil {
				t.Fatal(err)
			}
			v, err := job.Visit(ctx, d.tx, visit)
			if err != nil || v.Jobs[0].Address != want {
				t.Errorf("address %q, %v; want %q", v.Jobs[0].Address, err, want)
			}
			drop = d.dropOff(d.addFork("Halvard Sill"))
			drop.GoesBack, drop.Address = "post", strings.Repeat("x", 501)
			if _, err := job.TakeIn(ctx, d.tx, d.by, drop); !isInvalid(err, "address") {
				t.Errorf("an endless address: %v", err)
			}
		})
	}
}
