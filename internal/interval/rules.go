package interval

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Rules are all rules there are.
type Rules struct {
	own    map[ruleKey]Rule // the shop's, for one model or for all
	sheets map[ruleKey]Rule // those that the models' current spec sheets state
}

type ruleKey struct {
	service string
	model   int64
}

// For is the rule for a service of a model: the shop's own rule for that model,
// else what the model's current spec sheet states, else the rule for every
// model. A modelID of 0 is a model that is not known. ok is false when none
// holds.
func (r Rules) For(service string, modelID int64) (rule Rule, ok bool) {
	if modelID != 0 {
		if rule, ok = r.own[ruleKey{service, modelID}]; ok {
			return rule, true
		}
		if rule, ok = r.sheets[ruleKey{service, modelID}]; ok {
			return rule, true
		}
	}
	rule, ok = r.own[ruleKey{service, 0}]
	return rule, ok
}

// Default is the rule for every model; the zero Rule of the service when the
// shop has none.
func (r Rules) Default(service string) Rule {
	rule, ok := r.own[ruleKey{service, 0}]
	if !ok {
		rule.ServiceCode = service
	}
	return rule
}

// OfModel is the shop's own rule for a service of one model, version 0 when it
// has none, and what the model's spec sheet states, nil for nothing.
func (r Rules) OfModel(service string, modelID int64) (own Rule, sheet *Rule) {
	at := ruleKey{service, modelID}
	own, ok := r.own[at]
	if !ok {
		own = Rule{ServiceCode: service, ModelID: modelID}
	}
	if stated, ok := r.sheets[at]; ok {
		sheet = &stated
	}
	return own, sheet
}

// OfModels lists the shop's own rules for single models, by model and service.
func (r Rules) OfModels() []Rule {
	var list []Rule
	for key, rule := range r.own {
		if key.model != 0 {
			list = append(list, rule)
		}
	}
	slices.SortFunc(list, func(a, b Rule) int {
		if a.ModelID != b.ModelID {
			return int(a.ModelID - b.ModelID)
		}
		return strings.Compare(a.ServiceCode, b.ServiceCode)
	})
	return list
}

const (
	sheetHours  = " service hours" // the end of a spec key; the service's code is before it
	sheetMonths = " service months"
)

// ReadRules reads the shop's rules and those of the spec sheets in force.
func ReadRules(ctx context.Context, q db.Querier) (Rules, error) {
	all := Rules{own: map[ruleKey]Rule{}, sheets: map[ruleKey]Rule{}}
	rows, err := q.Query(ctx, `select service_code, coalesce(model_id, 0) as model_id,
			coalesce(hours, 0) as hours, coalesce(months, 0) as months, season, version from interval_rule`)
	list, err := db.All[Rule](rows, err)
	if err != nil {
		return all, fmt.Errorf("read intervals: %w", err)
	}
	for _, r := range list {
		all.own[ruleKey{r.ServiceCode, r.ModelID}] = r
	}
	type value struct {
		ModelID   int64
		Key       string
		NominalSI float64
	}
	rows, err = q.Query(ctx, `select s.model_id, v.key, v.nominal_si from sheet s join sheet_value v on v.sheet_id = s.id
		where s.state = 'current' and (v.key like '%' || $1 or v.key like '%' || $2)`, sheetHours, sheetMonths)
	values, err := db.All[value](rows, err)
	if err != nil {
		return all, fmt.Errorf("read intervals of spec sheets: %w", err)
	}
	for _, v := range values {
		all.state(v.ModelID, v.Key, int(math.Round(v.NominalSI)))
	}
	return all, nil
}

// state adds one value of a spec sheet; one of 0 states nothing.
func (r Rules) state(modelID int64, key string, n int) {
	if n < 1 {
		return
	}
	service, hours := strings.CutSuffix(key, sheetHours)
	service = strings.TrimSuffix(service, sheetMonths)
	at := ruleKey{service, modelID}
	rule := r.sheets[at]
	rule.ServiceCode, rule.ModelID = service, modelID
	if hours {
		rule.Hours = n
	} else {
		rule.Months = n
	}
	r.sheets[at] = rule
}

const (
	mostHours  = 2000
	mostMonths = 120
)

// CheckRule says by field ("hours", "months") what cannot stand.
func CheckRule(r Rule) map[string]string {
	faults := map[string]string{}
	if r.Hours < 0 || r.Hours > mostHours {
		faults["hours"] = fmt.Sprintf("Type 1 to %d hours, or nothing where hours do not count.", mostHours)
	}
	if r.Months < 0 || r.Months > mostMonths {
		faults["months"] = fmt.Sprintf("Type 1 to %d months, or nothing where months do not count.", mostMonths)
	}
	return faults
}

// Set keeps a rule over the version that was seen, 0 for one there was none of.
// Only an owner decides it.
func Set(ctx context.Context, tx pgx.Tx, by history.By, r Rule) error {
	if !by.Has("owner") {
		return errOwner
	}
	if faults := CheckRule(r); len(faults) > 0 {
		return &fault.Invalid{Fields: faults}
	}
	if err := r.known(ctx, tx); err != nil {
		return err
	}
	sql := `update interval_rule set hours = nullif($3, 0), months = nullif($4, 0), season = $5, version = version + 1
		where service_code = $1 and model_id is not distinct from nullif($2, 0::bigint) and version = $6`
	args := []any{r.ServiceCode, r.ModelID, r.Hours, r.Months, r.Season}
	if r.Version == 0 {
		sql = `insert into interval_rule (service_code, model_id, hours, months, season)
			values ($1, nullif($2, 0::bigint), nullif($3, 0), nullif($4, 0), $5)`
	} else {
		args = append(args, r.Version)
	}
	if err := db.Changed(tx.Exec(ctx, sql, args...)); err != nil {
		return fmt.Errorf("set interval: %w", db.Translate(err))
	}
	return r.tell(ctx, tx, by, "interval set")
}

const errOwner = fault.Forbidden("Only an owner decides when a service is due again.")

// known refuses a service or a model that is not there.
func (r Rule) known(ctx context.Context, q db.Querier) error {
	var service, model bool
	err := q.QueryRow(ctx, "select exists (select from service where code = $1), $2 = 0 or exists (select from model where id = $2)",
		r.ServiceCode, r.ModelID).Scan(&service, &model)
	switch {
	case err != nil:
		return fmt.Errorf("set interval: %w", err)
	case !service:
		return fault.Field("service", "Choose one of the services.")
	case !model:
		return fault.Field("model", "Choose one of the models.")
	}
	return nil
}

// Drop takes away the shop's rule for one model, so that the spec sheet or the
// rule for every model holds again.
func Drop(ctx context.Context, tx pgx.Tx, by history.By, r Rule) error {
	if !by.Has("owner") {
		return errOwner
	}
	err := db.Changed(tx.Exec(ctx, "delete from interval_rule where service_code = $1 and model_id = $2 and version = $3",
		r.ServiceCode, r.ModelID, r.Version))
	if err != nil {
		return fmt.Errorf("drop interval: %w", err)
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: "interval dropped",
		Detail: map[string]any{"service": r.ServiceCode, "model": r.ModelID}})
}
