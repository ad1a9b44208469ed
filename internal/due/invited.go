package due

import (
	"context"
	"fmt"
	"time"

	"damperdesk/internal/db"
)

// Invitation is that a rider was invited for a service of a unit, by mail or
// by voice.
type Invitation struct {
	UnitID   int64
	Customer int64  // who they are now
	Service  string // its code
	State    string // that of its message
	Why      string // it was not sent; empty: it was, or waits
	At       time.Time
}

// Invitations lists those of some units, the newest first.
func Invitations(ctx context.Context, q db.Querier, units []int64) ([]Invitation, error) {
	rows, err := q.Query(ctx, `select m.unit_id, c.now_id as customer, coalesce(m.service_code, '') as service, m.state, m.why, m.at
		from message m join customer_now c on c.id = m.customer_id
		where m.kind = 'due soon' and m.unit_id = any ($1) order by m.id desc`, units)
	list, err := db.All[Invitation](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read invitations: %w", err)
	}
	return list, nil
}

// comesWithin is how many days after an invitation a unit that comes in counts
// as come because of it.
const comesWithin = 28

// Came counts the invitations of the last two years that had their four weeks,
// and those of them whose unit was taken in or booked within these.
func Came(ctx context.Context, q db.Querier, now time.Time) (came, invited int, err error) {
	err = q.QueryRow(ctx, `select count(*) filter (where exists (
				select from job j where j.unit_id = m.unit_id and j.opened_at >= m.at and j.opened_at < m.at + make_interval(days => $2))), count(*)
			from message m where m.kind = 'due soon' and m.unit_id is not null and (m.state = 'sent' or m.why = 'told by voice')
				and m.at between $1::timestamptz - interval '2 years' and $1::timestamptz - make_interval(days => $2)`, now, comesWithin).Scan(&came, &invited)
	if err != nil {
		return 0, 0, fmt.Errorf("count who came: %w", err)
	}
	return came, invited, nil
}

// wantsSQL is whether a customer, c, wants to be told that something is due. What
// was said as somebody who was merged into them counts too; the newest holds.
const wantsSQL = `coalesce((select k.given from customer m cross join lateral (
		select id, given from consent where customer_id = m.id and kind = 'due soon' order by id desc limit 1) k
	where m.id = c.id or m.merged_into = c.id order by k.id desc limit 1), false)`

// Wanting are those of some customers who want to be told that something is due and
// have an address for mail, and those who can be rung.
func Wanting(ctx context.Context, q db.Querier, customers []int64) (mail, phone map[int64]bool, err error) {
	type row struct {
		ID          int64
		Mail, Voice bool
	}
	rows, err := q.Query(ctx, "select c.id, c.mail <> '' and "+wantsSQL+" as mail, c.phone <> '' as voice from customer c where c.id = any ($1)", customers)
	list, err := db.All[row](rows, err)
	if err != nil {
		return nil, nil, fmt.Errorf("read who can be invited: %w", err)
	}
	mail, phone = map[int64]bool{}, map[int64]bool{}
	for _, r := range list {
		mail[r.ID], phone[r.ID] = r.Mail, r.Voice
	}
	return mail, phone, nil
}

// Reached reports whether it was said to the rider, or is on its way.
func (i Invitation) Reached() bool {
	return i.State != "dropped" && i.State != "failed" || i.Why == "told by voice"
}
