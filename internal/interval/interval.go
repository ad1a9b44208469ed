// Package interval says when a service is due again: the rules of the shop and
// of its models, what riders say of their riding, and how a service stands on a
// day. Days are calendar days of the shop, held as midnight UTC.
package interval

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
)

// Rule makes a service due again after Hours of riding, after Months, or once
// each off-season, whichever comes first. 0 and false mean that this one does
// not count; a rule of none of them never makes a service due.
type Rule struct {
	ServiceCode string
	ModelID     int64 // 0: for every model
	Hours       int
	Months      int
	Season      bool
	// Version is 0 for a rule that is not kept, such as one of a spec sheet.
	Version int
}

// Counts reports whether the rule ever makes a service due.
func (r Rule) Counts() bool { return r.Hours > 0 || r.Months > 0 || r.Season }

// shipped are the rules for every model. Common practice (no source), the
// shorter end of each range: lower legs 50 h or yearly, air spring 50 to 100 h,
// damper 100 to 200 h or yearly to two-yearly, full service once each
// off-season; the air side of a rear shock as that of a fork.
var shipped = []Rule{
	{ServiceCode: "lower-leg", Hours: 50, Months: 12},
	{ServiceCode: "air-spring", Hours: 50, Months: 12},
	{ServiceCode: "damper", Hours: 100, Months: 12},
	{ServiceCode: "full", Season: true},
	{ServiceCode: "air-can", Hours: 50, Months: 12},
}

// Install brings the shipped rules for the services the shop offers, what
// riding counts for and what events ask for, any number of times; what is there
// stays as the shop has it.
func Install(ctx context.Context, tx pgx.Tx, by history.By) error {
	for _, r := range shipped {
		tag, err := tx.Exec(ctx, `insert into interval_rule (service_code, hours, months, season)
			select code, nullif($2, 0), nullif($3, 0), $4 from service where code = $1
			on conflict (service_code, model_id) do nothing`, r.ServiceCode, r.Hours, r.Months, r.Season)
		if err == nil && tag.RowsAffected() == 1 {
			err = r.tell(ctx, tx, by, "interval installed")
		}
		if err != nil {
			return fmt.Errorf("install interval of %s: %w", r.ServiceCode, err)
		}
	}
	if err := installFactors(ctx, tx, by); err != nil {
		return err
	}
	return installEventRules(ctx, tx, by)
}

// tell appends what became of the rule.
func (r Rule) tell(ctx context.Context, tx pgx.Tx, by history.By, kind string) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: kind, Detail: map[string]any{
		"service": r.ServiceCode, "model": r.ModelID, "hours": r.Hours, "months": r.Months, "season": r.Season}})
}
