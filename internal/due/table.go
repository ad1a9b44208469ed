package due

import (
	"cmp"
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/interval"
)

// stored is a row of the table as it is written.
type stored struct {
	Unit       int64   `json:"unit_id"`
	Service    *string `json:"service_code"`
	OpenJob    *int64  `json:"open_job"`
	By         *string `json:"by"`
	Soon       *string `json:"soon_on"`
	Due        *string `json:"due_on"`
	Overdue    *string `json:"overdue_on"`
	Wants      string  `json:"wants"`
	Event      *string `json:"event_on"`
	Ready      *string `json:"ready_on"`
	Left       *string `json:"left_on"`
	HoursLimit *int    `json:"hours_limit"`
	Months     *int    `json:"months_limit"`
	Hours      float64 `json:"hours"`
	Counted    *string `json:"counted_on"`
	Low        *string `json:"low_on"`
	Median     *string `json:"median_on"`
	High       *string `json:"high_on"`
	DateOn     *string `json:"date_on"`
	DateBy     *string `json:"date_by"`
	Behind     string  `json:"behind"`
	On         string  `json:"reckoned_on"`
}

// reckoned are the columns that a reckoning may change.
const reckoned = "open_job, by, soon_on, due_on, overdue_on, wants, event_on, ready_on, left_on, hours_limit, months_limit, hours, counted_on, low_on, median_on, high_on, date_on, date_by, behind"

// keep makes the rows of those units what was reckoned, and leaves alone those
// that are so already.
func keep(ctx context.Context, tx pgx.Tx, units []int64, rows []stored) error {
	list, err := json.Marshal(rows)
	if err != nil {
		return err
	}
	_, err = tx.Exec(ctx, `with reckoned as materialized (select * from json_populate_recordset(null::due, $2)),
		gone as (delete from due d where d.unit_id = any ($1) and not exists (
			select from reckoned r where r.unit_id = d.unit_id and r.service_code is not distinct from d.service_code))
		insert into due as d select * from reckoned
		on conflict (unit_id, service_code) do update set (`+reckoned+`, reckoned_on) = (excluded.`+strings.ReplaceAll(reckoned, ", ", ", excluded.")+`, excluded.reckoned_on)
		where (d.`+strings.ReplaceAll(reckoned, ", ", ", d.")+`) is distinct from (excluded.`+strings.ReplaceAll(reckoned, ", ", ", excluded.")+`)`,
		units, string(list))
	return err
}

// store is the rows of one unit as they are kept.
func (b *book) store(rows []Row, today time.Time) []stored {
	list := make([]stored, len(rows))
	for i, r := range rows {
		list[i] = stored{
			Unit: r.ID, Service: some(r.Code), OpenJob: some(r.OpenJobID), By: some(string(r.By)),
			Soon: date(r.Soon), Due: date(r.Due), Overdue: date(r.Overdue), Wants: string(r.Wants),
			HoursLimit: some(r.Rule.Hours), Months: some(r.Rule.Months),
			Hours: math.Round(r.Hours*10) / 10, Counted: date(r.Counted),
			Low: date(r.Low), Median: date(r.Median), High: date(r.High),
			Behind: b.behind(rows, r), On: *date(today),
		}
		if r.Served != nil {
			list[i].Ready, list[i].Left = date(r.Served.Ready), date(r.Served.Left)
		}
		if r.Asked != nil {
			list[i].Event = date(r.Asked.Day())
		}
		if len(r.Dates) > 0 {
			list[i].DateOn, list[i].DateBy = date(r.Dates[0].On), some(string(r.Dates[0].By))
		}
	}
	return list
}

func some[T comparable](v T) *T {
	if v == *new(T) {
		return nil
	}
	return &v
}

func date(day time.Time) *string {
	if day.IsZero() {
		return nil
	}
	text := day.Format(time.DateOnly)
	return &text
}

// behind is on which days another of the rows stands for one, as a multirange.
// States change only on the days that the rows name.
func (b *book) behind(rows []Row, r Row) string {
	days := []time.Time{{}} // before all of them
	for _, o := range rows {
		for _, day := range []time.Time{o.Soon, o.Due, o.Overdue} {
			if !day.IsZero() {
				days = append(days, day)
			}
		}
	}
	slices.SortFunc(days, time.Time.Compare)
	var ranges []string
	for i, day := range days {
		if !slices.ContainsFunc(rows, func(o Row) bool { return b.stands(o, r, day) }) {
			continue
		}
		var end *string
		if i+1 < len(days) {
			end = date(days[i+1])
		}
		ranges = append(ranges, "["+deref(date(day))+","+deref(end)+")")
	}
	return "{" + strings.Join(ranges, ",") + "}"
}

func deref(text *string) string { return *cmp.Or(text, new(string)) }

// stands reports whether doing the one service leaves nothing to ring for the
// other on a day.
func (b *book) stands(one, other Row, day time.Time) bool {
	if one.Code == other.Code || !slices.Contains(b.covers[one.Code], other.Code) {
		return false
	}
	x, y := one.Outlook.State(day), other.Outlook.State(day)
	return x == y || x != interval.Unknown && interval.Urgency(x, y) <= 0
}
