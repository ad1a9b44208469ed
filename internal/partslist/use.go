package partslist

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/fold"
	"damperdesk/internal/history"
	"damperdesk/internal/stock"
)

// Signed is a step of a bench sheet that was signed and takes parts or a fluid.
type Signed struct {
	Job    int64
	StepID int64
	Step   string
	Choice string // of the part, where the step asks for it; empty: as it was chosen before
	// Condition is how the old one is that is kept.
	Condition string
	Fluid     string // of a volume: as it was signed
	Qty       int64  // of a volume: what went in, µL
}

// Use posts what a signed step took. What the ledger has none of is kept as used
// and to be counted, because the work is done: a sign-off is never lost for it.
func Use(ctx context.Context, tx pgx.Tx, by history.By, d Signed) error {
	needs, err := atStep(ctx, tx, d)
	if err != nil || len(needs) == 0 {
		return err
	}
	s, err := lockAll(ctx, tx, needs)
	if err != nil {
		return err
	}
	for _, n := range needs {
		if d.Choice != "" && d.Choice != n.Choice {
			if err := n.choose(ctx, tx, s, d.Choice, d.Condition); err != nil {
				return err
			}
		}
		amount := n.Qty - n.Used - n.Unposted
		if d.Qty > 0 && n.poured() {
			amount = d.Qty
		}
		if n.Choice != New || amount <= 0 {
			continue
		}
		if err := n.use(ctx, tx, by, s, amount, d.StepID); err != nil {
			return err
		}
	}
	return nil
}

// poured reports whether it is what goes in at a volume.
func (n Need) poured() bool { return n.Measure == stock.Volume }

// atStep reads what the job needs at a step. Of what is poured it is the fluid that
// was signed, or what was chosen in its place; one that nobody wanted is needed now.
func atStep(ctx context.Context, tx pgx.Tx, d Signed) ([]Need, error) {
	needs, err := OfJobs(ctx, tx, d.Job)
	needs = slices.DeleteFunc(needs, func(n Need) bool { return n.Step != d.Step })
	if err != nil || d.Qty == 0 {
		return needs, err
	}
	named, err := stock.FluidsNamed(ctx, tx, []string{d.Fluid})
	if err != nil {
		return nil, err
	}
	item := named[fold.Text(d.Fluid)]
	at := slices.IndexFunc(needs, func(n Need) bool { return n.poured() && (item == 0 || n.ItemID == item || n.OtherID == item) })
	var others, fluids []Need
	for i, n := range needs {
		switch {
		case !n.poured():
			others = append(others, n)
		case i != at:
			fluids = append(fluids, n)
		}
	}
	if at >= 0 {
		return append(others, needs[at]), nil
	}
	if item == 0 { // the shelf does not have it by that name
		return others, nil
	}
	if err := stopWanting(ctx, tx, fluids); err != nil {
		return nil, err
	}
	rows, err := tx.Query(ctx, `with n as (insert into need (job_id, item_id, step_key, origin, qty, must) values ($1, $2, $3, $4, $5, true) returning *)
		`+strings.Replace(selectNeed, "from need n", "from n", 1), d.Job, item, d.Step, ofSheet, d.Qty)
	list, err := db.All[Need](rows, err)
	if err != nil {
		return nil, fmt.Errorf("need a fluid: %w", db.Translate(err))
	}
	return append(others, list...), nil
}

// stopWanting takes fluids off that another one was poured in place of.
func stopWanting(ctx context.Context, tx pgx.Tx, needs []Need) error {
	s, err := lockAll(ctx, tx, needs)
	if err != nil {
		return err
	}
	for _, n := range needs {
		if n.Used+n.Unposted == 0 {
			if err := n.drop(ctx, tx, s); err != nil {
				return err
			}
		}
	}
	return nil
}

// use takes an amount of a need off the shelf, first what lies aside for it.
func (n *Need) use(ctx context.Context, tx pgx.Tx, by history.By, s *stock.Shelf, amount, step int64) error {
	take := s.MayUse(n.ItemID, amount, n.Aside)
	if err := s.SetAside(ctx, tx, n.ItemID, -n.Aside); err != nil {
		return err
	}
	if take > 0 {
		_, err := s.Post(ctx, tx, by, stock.Posting{Item: n.ItemID, Kind: stock.Use, Qty: take, Job: n.JobID, Step: step})
		if err != nil {
			return err
		}
	}
	_, err := tx.Exec(ctx, `update need set aside = 0, used = used + $2, unposted = unposted + $3, version = version + 1 where id = $1`,
		n.ID, take, amount-take)
	if err != nil {
		return fmt.Errorf("use what a job needs: %w", db.Translate(err))
	}
	return nil
}

// Unuse puts back what a step took whose sign-off is crossed out, and sets it aside
// again.
func Unuse(ctx context.Context, tx pgx.Tx, by history.By, job, stepID int64, step, reason string) error {
	needs, err := OfJobs(ctx, tx, job)
	needs = slices.DeleteFunc(needs, func(n Need) bool { return n.Step != step || n.Used+n.Unposted == 0 })
	if err != nil || len(needs) == 0 {
		return err
	}
	s, err := lockAll(ctx, tx, needs)
	if err != nil {
		return err
	}
	moves, err := stock.OfJob(ctx, tx, job)
	if err != nil {
		return err
	}
	for _, m := range moves {
		if m.StepID == stepID && m.Standing() && m.Kind == stock.Use {
			if _, err := s.TakeBack(ctx, tx, by, m.ID, shortened(reason)); err != nil {
				return err
			}
		}
	}
	for _, n := range needs {
		back := n.Used
		if _, err := tx.Exec(ctx, "update need set used = 0, unposted = 0, version = version + 1 where id = $1", n.ID); err != nil {
			return fmt.Errorf("put back what a step took: %w", err)
		}
		n.Used, n.Unposted = 0, 0
		if more := min(back, n.Open(), max(s.Of(n.ItemID).Free(), 0)); more > 0 {
			if err := keepAside(ctx, tx, s, &n, more); err != nil {
				return err
			}
		}
	}
	return nil
}

// shortened is a reason at the length that the ledger takes.
func shortened(reason string) string {
	if r := []rune(reason); len(r) > stock.MostReason {
		return string(r[:stock.MostReason-1]) + "…"
	}
	return reason
}

// PutBack wants nothing at a step any more that does not apply.
func PutBack(ctx context.Context, tx pgx.Tx, job int64, step string) error {
	needs, err := OfJobs(ctx, tx, job)
	needs = slices.DeleteFunc(needs, func(n Need) bool { return n.Step != step || n.Used+n.Unposted > 0 })
	if err != nil || len(needs) == 0 {
		return err
	}
	return stopWanting(ctx, tx, needs)
}

// UseNow uses what no step does, and posts what was used before the ledger had it:
// as much as is there.
func UseNow(ctx context.Context, tx pgx.Tx, by history.By, job, id int64, version int) error {
	n, s, err := one(ctx, tx, job, id, version)
	if err != nil {
		return err
	}
	switch {
	case n.Unposted > 0: // the job may be closed by now
		return n.post(ctx, tx, by, s)
	case n.Over:
		return fault.Conflict("This job is closed.")
	case n.Step != "" && !n.Signed:
		return fault.Conflict("It is used when its step is signed.")
	case n.Choice != New:
		return fault.Conflict("Nothing new goes in here.")
	case n.Qty <= n.Used:
		return fault.Conflict("It is used already.")
	}
	if s.MayUse(n.ItemID, n.Qty, n.Aside) < n.Qty {
		return fault.Conflict("The ledger has less of it than that: receive or count it first.")
	}
	return n.use(ctx, tx, by, s, n.Qty-n.Used, n.StepID)
}

// post posts what was used before the ledger had it.
func (n Need) post(ctx context.Context, tx pgx.Tx, by history.By, s *stock.Shelf) error {
	take := s.MayUse(n.ItemID, n.Unposted, 0)
	if take == 0 {
		return fault.Conflict("The ledger still has none of it: receive or count it first.")
	}
	if _, err := s.Post(ctx, tx, by, stock.Posting{Item: n.ItemID, Kind: stock.Use, Qty: take, Job: n.JobID, Step: n.StepID}); err != nil {
		return err
	}
	_, err := tx.Exec(ctx, "update need set used = used + $2, unposted = unposted - $2, version = version + 1 where id = $1", n.ID, take)
	if err != nil {
		return fmt.Errorf("post what was used: %w", err)
	}
	return nil
}

// TakeBack answers a wrong move of a job with its opposite, where no step stands for
// it: that of a signed step goes with its sign-off.
func TakeBack(ctx context.Context, tx pgx.Tx, by history.By, m stock.Entry, reason string) (stock.Move, error) {
	if m.StepID != 0 && m.Kind == stock.Use {
		return stock.Move{}, fault.Conflict("A step of the bench sheet took that: cross out its sign-off there.")
	}
	back, err := stock.TakeBack(ctx, tx, by, m.ID, reason)
	if err != nil {
		return back, err
	}
	tag, err := tx.Exec(ctx, `update need set used = used - $3, version = version + 1 where id = (
		select id from need where job_id = $1 and item_id = $2 and used >= $3 and step_key = '')`, m.JobID, m.ItemID, -m.Qty)
	if err := db.Changed(tag, err); err != nil {
		return back, fmt.Errorf("take back what a job used: %w", err)
	}
	return back, nil
}
