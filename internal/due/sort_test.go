package due_test

import (
	"slices"
	"testing"

	"damperdesk/internal/due"
	"damperdesk/internal/interval"
)

// The orders of the list on 1 June: the months of the rule for one fork are over,
// another's hours may be ridden by then, the third's are not known, though its months
// end in autumn; what is dearest stands first, and riders stand by name.
func TestInWhichOrderTheListStands(t *testing.T) {
	b := newBench(t, "north")
	over, rides, unknown := b.unit("fork", "Tindra Lode"), b.unit("fork", "Halvard Sill"), b.unit("fork", "Orrery Node")
	b.serve(over, "2025-05-20", "lower-leg")
	b.serve(rides, "2026-01-10", "lower-leg")
	two, hours := 2.0, 2.0
	b.say(rides, "2026-01-10", interval.Said{RidesAWeek: &two, HoursARide: &hours})
	b.serve(unknown, "2025-11-01", "full")
	order := func(ask due.Ask) (units []int64) {
		ask.Rows, ask.Ring = 10, true
		for _, r := range b.ask("2026-06-01", ask).Rows {
			if !slices.Contains(units, r.ID) {
				units = append(units, r.ID)
			}
		}
		return units
	}
	for _, c := range []struct {
		ask  due.Ask
		want []int64
	}{
		{due.Ask{Sort: due.MostDue}, []int64{rides, over, unknown}},
		{due.Ask{Sort: due.Surest}, []int64{over, rides, unknown}},
		{due.Ask{Sort: due.MostWorth, Worth: map[due.Kind]int64{{Service: "lower-leg"}: 60_00, {Service: "full"}: 150_00}}, []int64{unknown}},
	} {
		if got := order(c.ask); !slices.Equal(got[:min(len(c.want), len(got))], c.want) {
			t.Errorf("%s: got %v, want %v; on the list %v", c.ask.Sort, got, c.want, b.list("2026-06-01"))
		}
	}
	if got := b.ask("2026-06-01", due.Ask{Sort: due.Surest, Ring: true, From: 1, Rows: 1}).Rows; len(got) != 1 || got[0].ID != rides {
		t.Errorf("the second row is %+v", got)
	}
	if urgent, err := due.Urgent(ctx, b.tx, day("2026-06-01"), due.Ask{Rows: 10}); err != nil || len(urgent) != 0 {
		t.Errorf("%d are urgent whose riders want no mail, %v", len(urgent), err)
	}
	_, err := b.tx.Exec(ctx, "update customer set mail = 'rider@example.com'")
	b.must(err)
	_, err = b.tx.Exec(ctx, `insert into consent (customer_id, kind, given, how, intent_id, at) select distinct u.customer_id, 'due soon', true, 'page', r.intent_id, r.at from unit u, (select intent_id, at from event limit 1) r`)
	b.must(err)
	urgent, err := due.Urgent(ctx, b.tx, day("2026-06-01"), due.Ask{Sort: due.Surest, Rows: 10})
	b.must(err)
	for _, r := range urgent {
		if interval.Urgency(r.State(), interval.Soon) > 0 || r.ID == unknown {
			t.Errorf("urgent is %s, %s", r.Name, r.State())
		}
	}
	if len(urgent) != 2 {
		t.Errorf("%d are urgent, want 2", len(urgent))
	}
}
