// Package interval says after how many ride hours or months a service is due
// again.
package interval

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/spec"
)

// Rule makes a service due again after Hours of riding or Months, whichever
// comes first. 0 means that this one does not count.
type Rule struct {
	ServiceCode string
	ModelID     int64 // 0: for every model
	Hours       int
	Months      int
}

// shipped are the rules for every model. Common practice (no source), the
// shorter end of each range: lower legs 50 h or yearly, air spring 50 to 100 h,
// damper 100 to 200 h or yearly to two-yearly, full service once each
// off-season.
var shipped = []Rule{
	{ServiceCode: "lower-leg", Hours: 50, Months: 12},
	{ServiceCode: "air-spring", Hours: 50, Months: 12},
	{ServiceCode: "damper", Hours: 100, Months: 12},
	{ServiceCode: "full", Months: 12},
}

// Install brings the shipped rules for the services the shop offers, any number
// of times; a rule that is there stays as the shop has it.
func Install(ctx context.Context, tx pgx.Tx) error {
	for _, r := range shipped {
		_, err := tx.Exec(ctx, `insert into interval_rule (service_code, hours, months)
			select code, nullif($2, 0), nullif($3, 0) from service where code = $1
			on conflict (service_code, model_id) do nothing`, r.ServiceCode, r.Hours, r.Months)
		if err != nil {
			return fmt.Errorf("install interval of %s: %w", r.ServiceCode, err)
		}
	}
	return nil
}

// For is the rule for a service of a model: the shop's own rule for that model,
// else what the model's current spec sheet states, else the rule for every
// model. A modelID of 0 is a model that is not known. NotFound when none holds.
func For(ctx context.Context, q db.Querier, serviceCode string, modelID int64) (Rule, error) {
	own, general, err := rules(ctx, q, serviceCode, modelID)
	if err != nil {
		return Rule{}, fmt.Errorf("interval of %s: %w", serviceCode, err)
	}
	if own != nil {
		return *own, nil
	}
	if modelID != 0 {
		sheet, err := spec.Current(ctx, q, modelID)
		var none fault.NotFound
		if err != nil && !errors.As(err, &none) {
			return Rule{}, fmt.Errorf("interval of %s: %w", serviceCode, err)
		}
		if r, ok := stated(sheet, serviceCode); ok {
			return r, nil
		}
	}
	if general != nil {
		return *general, nil
	}
	return Rule{}, fault.NotFound("There is no interval for that service.")
}

// rules reads the rule of the model and the one for every model.
func rules(ctx context.Context, q db.Querier, serviceCode string, modelID int64) (own, general *Rule, err error) {
	rows, err := q.Query(ctx, `select service_code, coalesce(model_id, 0) as model_id,
			coalesce(hours, 0) as hours, coalesce(months, 0) as months
		from interval_rule where service_code = $1 and (model_id is null or model_id = $2)`, serviceCode, modelID)
	list, err := db.All[Rule](rows, err)
	for _, r := range list {
		if r.ModelID == 0 {
			general = &r
		} else {
			own = &r
		}
	}
	return own, general, err
}

// stated is the interval the maker gives on the model's sheet.
func stated(s spec.Sheet, serviceCode string) (Rule, bool) {
	r := Rule{ServiceCode: serviceCode, ModelID: s.ModelID}
	if v, ok := s.Value(serviceCode+" service hours", ""); ok {
		r.Hours = int(math.Round(v.NominalSI))
	}
	if v, ok := s.Value(serviceCode+" service months", ""); ok {
		r.Months = int(math.Round(v.NominalSI))
	}
	return r, r.Hours > 0 || r.Months > 0
}

// AddMonths is the same day n months on, or the last day of that month where it
// has no such day: a month after 31 January is 28 or 29 February. The time of
// day and its zone stay.
func AddMonths(day time.Time, n int) time.Time {
	year, month, d := day.Date()
	last := time.Date(year, month+time.Month(n)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	h, m, s := day.Clock()
	return time.Date(year, month+time.Month(n), min(d, last), h, m, s, day.Nanosecond(), day.Location())
}
