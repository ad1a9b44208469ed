package advice

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Setting is what the shop wants of its shelf.
type Setting struct {
	// The percent of times that nothing runs out before a delivery has come, of the
	// items that make up the first 80 % of what is used by value, of those up to
	// 95 %, and of the rest.
	ServiceA, ServiceB, ServiceC float64
	OrderMinor                   int64   // what it costs to order and unpack an item once
	HoldPercent                  float64 // of its price, what an item costs a year that lies there
	Version                      int     // 0: nobody set it yet
}

// Usual is what holds until somebody says otherwise: common practice (no source).
func Usual() Setting {
	return Setting{ServiceA: 95, ServiceB: 95, ServiceC: 90, OrderMinor: 500, HoldPercent: 20}
}

// Classes are the classes by value of use, the highest first.
var Classes = []string{"A", "B", "C"}

// Service is the share wanted of a class, 0 being A.
func (s Setting) Service(class int) float64 {
	return []float64{s.ServiceA, s.ServiceB, s.ServiceC}[class] / 100
}

// GetSetting reads it.
func GetSetting(ctx context.Context, q db.Querier) (Setting, error) {
	rows, err := q.Query(ctx, "select service_a, service_b, service_c, order_minor, hold_percent, version from advice_setting")
	s, err := db.One[Setting](rows, err, "setting")
	if errors.As(err, new(fault.NotFound)) {
		return Usual(), nil
	}
	return s, err
}

func (s Setting) check() error {
	wrong := map[string]string{}
	for field, v := range map[string]float64{"service_a": s.ServiceA, "service_b": s.ServiceB, "service_c": s.ServiceC} {
		if !(v >= 50 && v <= 99.9) {
			wrong[field] = "Give a percentage from 50 to 99.9."
		}
	}
	if s.OrderMinor < 1 || s.OrderMinor > 100_000_000 {
		wrong["order"] = "Give what an order costs, above zero."
	}
	if !(s.HoldPercent >= 1 && s.HoldPercent <= 200) {
		wrong["hold"] = "Give a percentage from 1 to 200."
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	return nil
}

// SetSetting keeps it over the version that was read; it counts from the next run on.
func SetSetting(ctx context.Context, tx pgx.Tx, by history.By, s Setting) error {
	if !slices.Contains(by.Roles, "owner") {
		return fault.Forbidden("Only an owner says what the shelf is to be like.")
	}
	if err := s.check(); err != nil {
		return err
	}
	err := db.Changed(tx.Exec(ctx, `insert into advice_setting as old (service_a, service_b, service_c, order_minor, hold_percent)
		select $1, $2, $3, $4, $5 where $6 = 0 or exists (select from advice_setting)
		on conflict (one) do update set service_a = $1, service_b = $2, service_c = $3, order_minor = $4, hold_percent = $5, version = old.version + 1
		where old.version = $6`, s.ServiceA, s.ServiceB, s.ServiceC, s.OrderMinor, s.HoldPercent, s.Version))
	if err != nil {
		return fmt.Errorf("set what the shelf is to be like: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "advice", Kind: "shelf setting changed",
		Detail: map[string]any{"a": s.ServiceA, "b": s.ServiceB, "c": s.ServiceC, "order": s.OrderMinor, "hold": s.HoldPercent}})
}
