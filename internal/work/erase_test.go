package work

import (
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/bill"
	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/due"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
)

// Whoever was not here for five years goes in the night, but for those with an
// open job or money owed, for whoever bought a unit since, and for whoever is to be
// asked again on a day to come. They go as by hand, out of what they sold as well.
func TestTheSweepErasesWhoWasNotHereForLong(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	now := time.Now().UTC()
	ago := func(years int) time.Time { return now.AddDate(-years, 0, 0) }
	write := func(at time.Time, do func(tx pgx.Tx, by history.By) error) {
		t.Helper()
		err := db.Write(t.Context(), pool, func(tx pgx.Tx) error {
			return do(tx, dbtest.Act(t, tx, history.By{At: at, Roles: []string{"owner", "desk"}}))
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	add := func(name string, at time.Time) (id int64) {
		t.Helper()
		write(at, func(tx pgx.Tx, by history.By) (err error) {
			id, err = customer.Add(t.Context(), tx, by, customer.Details{Name: name, Phone: "07700 900118"})
			return err
		})
		return id
	}
	visit := func(tx pgx.Tx, who int64) (id int64, err error) {
		err = tx.QueryRow(t.Context(), `insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
			values ($1, $2, 'counter', 'pickup', 'GBP', $2) returning id`, who, ago(10)).Scan(&id)
		return id, err
	}
	unit := func(tx pgx.Tx, by history.By, who int64) (int64, error) {
		return customer.AddUnit(t.Context(), tx, by, who, customer.UnitDetails{Kind: "fork", ModelWords: "grey fork"})
	}
	old, here := add("Long Gone", ago(11)), add("Here Lately", ago(1))
	owing, open, buyer, seller := add("Owes Money", ago(11)), add("Open Job", ago(11)), add("Bought One", ago(11)), add("Sold One", ago(11))
	write(ago(10), func(tx pgx.Tx, by history.By) error {
		err := shop.Save(t.Context(), tx, by, shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
			TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"})
		if err != nil {
			return err
		}
		if err := bill.SetTaxRate(t.Context(), tx, by, bill.TaxRate{Name: "VAT", BP: 2000}); err != nil {
			return err
		}
		v, err := visit(tx, owing)
		if err != nil {
			return err
		}
		return bill.AddLine(t.Context(), tx, by, v, bill.NewLine{Payer: bill.ByCustomer, Kind: "other", Words: "crown", QtyMilli: 1000, UnitMinor: 900, TaxCode: "A"})
	})
	write(ago(10), func(tx pgx.Tx, by history.By) error {
		v, err := visit(tx, open)
		if err != nil {
			return err
		}
		u, err := unit(tx, by, open)
		if err != nil {
			return err
		}
		_, err = tx.Exec(t.Context(), `with j as (insert into job (visit_id, unit_id, stage, opened_at) values ($1, $2, 'in the queue', $3) returning id)
			insert into stage_change (job_id, seq, stage, intent_id, at) select id, 1, 'in the queue', $4, $3 from j`, v, u, by.At, by.Intent)
		return err
	})
	write(ago(2), func(tx pgx.Tx, by history.By) error {
		u, err := unit(tx, by, seller)
		if err != nil {
			return err
		}
		return customer.Sell(t.Context(), tx, by, u, buyer, time.UTC)
	})
	snoozed := func(name string, said time.Time) (id int64) {
		t.Helper()
		id = add(name, ago(11))
		write(said, func(tx pgx.Tx, by history.By) error {
			if _, err := visit(tx, id); err != nil {
				return err
			}
			u, err := unit(tx, by, id)
			if err != nil {
				return err
			}
			until := said.AddDate(1, 0, 0)
			return due.Put(t.Context(), tx, by, due.PutOff{UnitID: u, Kind: due.Snoozed, Until: &until, Reason: "away"}, said)
		})
		return id
	}
	later, over := snoozed("Ask Later", now), snoozed("Not Asked", ago(3))
	var sold int64
	write(ago(10), func(tx pgx.Tx, by history.By) (err error) {
		if sold, err = customer.AddUnit(t.Context(), tx, by, old, customer.UnitDetails{Kind: "fork", ModelWords: "spare fork of long gone"}); err != nil {
			return err
		}
		return customer.Sell(t.Context(), tx, by, sold, here, time.UTC)
	})
	sweep := func() {
		t.Helper()
		if _, err := pool.Exec(t.Context(), "delete from river.river_job"); err != nil {
			t.Fatal(err)
		}
		crew := begin(t, pool, leftOver(t, 0), quiet)
		wantJobs(t, pool, "completed 1")
		stop(t, crew)
	}
	erased := func() (list string) {
		t.Helper()
		err := pool.QueryRow(t.Context(), "select coalesce(string_agg(id::text, ' ' order by id), '') from customer where erased_at is not null").Scan(&list)
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	sweep()
	if got := erased(); got != "" {
		t.Errorf("without a setting %s were erased", got)
	}
	five := 5
	write(now, func(tx pgx.Tx, by history.By) error { return shop.SetEraseAfter(t.Context(), tx, by, 1, &five) })
	sweep()
	if got, want := erased(), fmt.Sprint(old, over); got != want {
		t.Errorf("erased were %q, want %q of %d here, %d owing, %d with an open job, %d who bought, %d to be asked later", got, want, here, owing, open, buyer, later)
	}
	var words string
	if err := pool.QueryRow(t.Context(), "select model_words from unit where id = $1", sold).Scan(&words); err != nil || words != "erased" {
		t.Errorf("what one of them sold is %q, want it without their name; %v", words, err)
	}
}
