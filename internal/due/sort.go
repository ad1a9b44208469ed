package due

import (
	"context"
	"slices"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/interval"
)

// Sort is the order of the list.
type Sort string

// The orders there are. What is alike stands by the day it is due.
const (
	MostDue    Sort = ""         // by state, then by the day
	Surest     Sort = "surest"   // by the day on which nine in ten would be due; what has none comes last
	MostWorth  Sort = "worth"    // by what the service costs; without a price last
	ByCustomer Sort = "customer" // by name
)

// Sorts are all of them.
var Sorts = []Sort{MostDue, Surest, MostWorth, ByCustomer}

// Kind is a service on a model; ModelID 0 is one that is not known.
type Kind struct {
	Service string
	ModelID int64
}

// Kinds are those that are on the list of a service, or of all.
func Kinds(ctx context.Context, q db.Querier, service string) ([]Kind, error) {
	rows, err := q.Query(ctx, `select distinct d.service_code as service, coalesce(u.model_id, 0) as model_id
		from due d join unit u on u.id = d.unit_id where d.service_code is not null and ($1 = '' or d.service_code = $1)`, service)
	return db.All[Kind](rows, err)
}

// sortSQL is what a row of due, d, is sorted by before its day, and what is joined
// for it. MostWorth takes the kinds that have a price, and these, as arguments from
// $5 on.
func (a Ask) sortSQL() (join, keys string, args []any) {
	switch a.Sort {
	case MostWorth:
		services, models, prices := []string{}, []int64{}, []int64{}
		for k, minor := range a.Worth {
			services, models, prices = append(services, k.Service), append(models, k.ModelID), append(prices, minor)
		}
		join = ` join unit s on s.id = d.unit_id left join unnest($5::text[], $6::bigint[], $7::bigint[]) w (service, model, minor)
			on w.service = d.service_code and w.model = coalesce(s.model_id, 0)`
		return join, "-w.minor as key, 0 as tie", []any{services, models, prices}
	case ByCustomer:
		return " join unit s on s.id = d.unit_id join customer k on k.id = s.customer_id", "k.name_key as key, k.id as tie", nil
	}
	return "", "least(d.high_on, d.date_on, case when d.event_on is not null then d.due_on end) as key, 0 as tie", nil
}

// stands is which rows a part is of: those of one state, or those that somebody may
// be rung in.
func (a Ask) stands() string {
	stands := ringSQL
	if i := slices.Index(States, a.State); i >= 0 {
		stands = stateSQL[i]
	}
	if a.Urgent {
		stands += " and soon_on <= $1"
	}
	return stands
}

// readSorted reads a part that does not stand state by state.
func readSorted(ctx context.Context, q db.Querier, today time.Time, ask Ask) ([]Row, error) {
	join, keys, more := ask.sortSQL()
	args := append([]any{today, ask.Service, ask.Rows, ask.From}, more...)
	wanted := ask.wanted(len(args) + 1)
	rows, err := q.Query(ctx, selectUnit+keptSQL+" from (select d.*, "+keys+" from (select * from due where "+wanted+" and "+ask.stands()+") d"+join+`
			order by key, tie, d.due_on, d.unit_id, d.service_code limit $3 offset $4) d
		join unit u on u.id = d.unit_id`+fromUnit+" order by d.key, d.tie, d.due_on, d.unit_id, d.service_code", ask.args(args...)...)
	list, err := db.All[kept](rows, err)
	return rowsOf(list, today, ask.State), err
}

func rowsOf(list []kept, today time.Time, state interval.State) []Row {
	rows := make([]Row, len(list))
	for i, k := range list {
		rows[i] = k.row(today)
		rows[i].Off = state == Off
	}
	return rows
}
