package work

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/advice"
	"damperdesk/internal/db"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
	"damperdesk/internal/shop"
	"damperdesk/internal/stock"
)

// The first server of a day reckons; a press has it reckoned again.
func TestAdviceIsReckonedByTheClockAndByAPress(t *testing.T) {
	t.Parallel()
	pool := dbtest.Clone(t)
	var by history.By
	write := func(do func(pgx.Tx) error) {
		t.Helper()
		if err := db.Write(t.Context(), pool, do); err != nil {
			t.Fatal(err)
		}
	}
	write(func(tx pgx.Tx) error {
		by = dbtest.By(t, tx, "owner")
		_, err := stock.Add(t.Context(), tx, by, stock.Details{Code: "W", Name: "Wiper", Kind: "wiper", Measure: stock.Each})
		if err != nil {
			return err
		}
		return shop.Save(t.Context(), tx, by, shop.Settings{Name: "Weir Lane Cycles", Zone: "Europe/London", Currency: "GBP", Hemisphere: "north",
			TorqueUnit: "N·m", VolumeUnit: "mL", PressureUnit: "psi", MassUnit: "kg"})
	})
	finished := func(after int64) int64 {
		t.Helper()
		for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
			if _, last, err := advice.Last(t.Context(), pool); err != nil || last.ID > after {
				if err != nil || last.Done != 1 {
					t.Fatalf("%+v, %v", last, err)
				}
				return last.ID
			}
		}
		t.Fatal("it is not reckoned")
		return 0
	}
	crew := begin(t, pool, leftOver(t, 0), quiet)
	first := finished(0)
	write(func(tx pgx.Tx) error {
		run, _, err := advice.Ask(t.Context(), tx, dbtest.Act(t, tx, by))
		if err != nil {
			return err
		}
		return crew.Add(t.Context(), tx, Advise{Run: run})
	})
	finished(first)
}
