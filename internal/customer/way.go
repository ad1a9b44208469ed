package customer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Way is how a customer reads what the shop writes to them. What is empty is the
// shop's way.
type Way struct {
	Pressure, Mass, Torque string // units, as in package quantity
	Days                   string // the order of a date, of DayOrders
	Clock                  string // "24" or "12"
	Decimals               string // "point" or "comma"
	Version                int    // 0 while nothing was chosen
}

// WayFields are the fields of a way, in the order of its form, each with what may
// be chosen.
var WayFields = []struct {
	Name    string
	Choices []string
}{
	{"pressure", []string{"psi", "bar", "kPa"}},
	{"mass", []string{"kg", "lb"}},
	{"torque", []string{"N·m", "lbf·in"}},
	{"days", DayOrders},
	{"clock", []string{"24", "12"}},
	{"decimals", []string{"point", "comma"}},
}

// DayOrders are the orders of a date: 28 November 2026, November 28, 2026 and
// 2026-11-28.
var DayOrders = []string{"day month", "month day", "year month day"}

// field is the part of a way that a field of its form is for.
func (w *Way) field(name string) *string {
	return map[string]*string{"pressure": &w.Pressure, "mass": &w.Mass, "torque": &w.Torque,
		"days": &w.Days, "clock": &w.Clock, "decimals": &w.Decimals}[name]
}

// Get is what was chosen in a field.
func (w Way) Get(name string) string { return *w.field(name) }

// Set chooses in a field.
func (w *Way) Set(name, choice string) { *w.field(name) = choice }

func (w Way) check() error {
	faults := map[string]string{}
	for _, f := range WayFields {
		if said := w.Get(f.Name); said != "" && !slices.Contains(f.Choices, said) {
			faults[f.Name] = "Choose one of these."
		}
	}
	return invalid(faults)
}

// GetWay reads how a customer reads. One who was merged into another and chose
// before is asked nothing again.
func GetWay(ctx context.Context, q db.Querier, id int64) (Way, error) {
	w, _, err := wayOf(ctx, q, id)
	if err != nil {
		return Way{}, fmt.Errorf("read the way of a customer: %w", err)
	}
	return w, nil
}

// wayOf says also whether the row is that of who the customer is now.
func wayOf(ctx context.Context, q db.Querier, id int64) (w Way, own bool, err error) {
	err = q.QueryRow(ctx, `select coalesce(pressure_unit, ''), coalesce(mass_unit, ''), coalesce(torque_unit, ''),
			coalesce(days, ''), coalesce(clock, ''), coalesce(decimals, ''), version, w.customer_id = me.now_id
		from customer_now me join customer_now c on c.now_id = me.now_id join customer_way w on w.customer_id = c.id
		where me.id = $1 order by w.customer_id = me.now_id desc, changed_at desc limit 1`, id).Scan(
		&w.Pressure, &w.Mass, &w.Torque, &w.Days, &w.Clock, &w.Decimals, &w.Version, &own)
	if errors.Is(err, pgx.ErrNoRows) {
		err = nil
	}
	return w, own, err
}

// mostByLink is how often a way is changed before nobody but the shop changes it: a
// customer's page may be in anybody's hand.
const mostByLink = 20

// SetWay keeps how a customer reads, who saw the version that w has. Without staff it
// is somebody with a customer's link.
func SetWay(ctx context.Context, tx pgx.Tx, by history.By, id int64, w Way) error {
	if err := w.check(); err != nil {
		return err
	}
	c, err := Get(ctx, tx, id)
	if err != nil {
		return err
	}
	var erased bool
	if err := tx.QueryRow(ctx, "select erased_at is not null from customer where id = $1 for no key update", c.ID).Scan(&erased); err != nil {
		return fmt.Errorf("keep the way of a customer: %w", err)
	}
	if erased {
		return errErased
	}
	was, own, err := wayOf(ctx, tx, c.ID)
	switch {
	case err != nil:
		return fmt.Errorf("keep the way of a customer: %w", err)
	case was.Version != w.Version:
		return fault.Conflict("That was changed somewhere else meanwhile. Look at it again, then choose.")
	case was == w:
		return nil
	case by.Staff == 0 && was.Version >= mostByLink:
		return fault.Conflict("That was changed many times already. Ring us, and we set it for you.")
	}
	if err := w.keep(ctx, tx, c.ID, own, by.At); err != nil {
		return fmt.Errorf("keep the way of a customer: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "customer", SubjectID: c.ID, Customer: c.ID, Kind: "way of reading chosen"})
}

// keep writes the row of a customer, who has one of their own or has none yet.
func (w Way) keep(ctx context.Context, tx pgx.Tx, id int64, own bool, at time.Time) error {
	change := `insert into customer_way (customer_id, pressure_unit, mass_unit, torque_unit, days, clock, decimals, changed_at, version)
		values ($1, nullif($2, ''), nullif($3, ''), nullif($4, ''), nullif($5, ''), nullif($6, ''), nullif($7, ''), $8, $9)`
	if own {
		change = `update customer_way set pressure_unit = nullif($2, ''), mass_unit = nullif($3, ''), torque_unit = nullif($4, ''),
			days = nullif($5, ''), clock = nullif($6, ''), decimals = nullif($7, ''), changed_at = $8, version = $9 where customer_id = $1`
	}
	_, err := tx.Exec(ctx, change, id, w.Pressure, w.Mass, w.Torque, w.Days, w.Clock, w.Decimals, at, w.Version+1)
	return err
}
