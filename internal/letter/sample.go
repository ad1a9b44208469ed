package letter

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/due"
	"damperdesk/internal/message"
)

// Sample is a visit, or a service of a unit, that a kind of message can be tried
// on.
type Sample struct {
	Number  int // a ticket of it
	Message message.Message
}

// SampleOf finds what messages of a kind can be tried on: the job with that
// ticket, or with 0 the newest whose state is one that they are sent in; ok is
// false for none.
func SampleOf(ctx context.Context, q db.Querier, now time.Time, kind message.Kind, number int) (s Sample, ok bool, err error) {
	err = q.QueryRow(ctx, `select j.number, j.visit_id, j.unit_id, c.now_id
		from job j join visit v on v.id = j.visit_id join customer_now c on c.id = v.customer_id
		where case when $1 > 0 then j.number = $1 else case $2
			when 'received' then j.stage in ('dropped off', 'arrived', 'in the queue')
			when 'go-ahead wanted' then j.closed_at is null and exists (select from proposal p where p.job_id = j.id and not p.ahead
				and not exists (select from proposal_answer a where a.proposal_id = p.id) and not exists (select from proposal r where r.replaces = p.id))
			when 'promise moved' then j.closed_at is null and (select count(*) from promise p where p.visit_id = j.visit_id) > 1
			when 'ready' then j.stage = 'ready for pickup' when 'still here' then j.stage = 'ready for pickup'
			else j.ending = 'done' end end
		order by j.id desc limit 1`, number, string(kind)).
		Scan(&s.Number, &s.Message.VisitID, &s.Message.UnitID, &s.Message.CustomerID)
	if errors.Is(err, pgx.ErrNoRows) {
		return s, false, nil
	}
	if err != nil {
		return s, false, fmt.Errorf("look for a job to try words on: %w", err)
	}
	s.Message.Kind = kind
	if kind != message.DueSoon {
		s.Message.UnitID = 0
		return s, true, nil
	}
	s.Message.VisitID = 0
	rows, err := due.OfUnit(ctx, q, s.Message.UnitID, now)
	for _, r := range rows {
		if r.Served != nil {
			s.Message.Service = r.Code
			return s, true, nil
		}
	}
	return s, false, err
}
