package partslist

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fold"
	"damperdesk/internal/stock"
)

// What becomes of the old part.
const (
	New         = "new"
	Kept        = "kept"
	CustomerOwn = "customer's own"
)

// Choices in the order they are offered.
var Choices = []string{New, Kept, CustomerOwn}

// Where a need comes from.
const (
	ofList  = "list"  // the parts lists of its services
	ofSheet = "sheet" // the fluid that the bench sheet names
	ofHand  = "hand"  // somebody added it
)

// Need is an item that a job wants at a step.
type Need struct {
	ID        int64
	JobID     int64
	ItemID    int64
	Code      string
	Item      string
	Kind      stock.Sort
	Measure   stock.Measure
	Place     string
	Step      string
	Origin    string
	Qty       int64
	Aside     int64
	Used      int64
	Unposted  int64 // used, and the ledger had none of it
	Must      bool
	Choice    string
	Condition string // of what is kept
	InsteadOf string // the code of the item it takes the place of
	OtherID   int64  // and its id
	Version   int
	Over      bool  // the job is closed
	StepID    int64 // of its bench sheet; 0: none
	Signed    bool  // that step is
	Free      int64 // of the item, beside what is set aside for anybody
	SaleMinor *int64
}

// Open is what it still wants and has not got. A step that was signed wants nothing
// more, whatever it took.
func (n Need) Open() int64 {
	if n.Choice != New || n.Step != "" && n.Used+n.Unposted > 0 {
		return 0
	}
	return max(n.Qty-n.Aside-n.Used-n.Unposted, 0)
}

// Lacks reports whether the work waits for it.
func (n Need) Lacks() bool { return n.Must && n.Open() > 0 }

const selectNeed = `select n.id, n.job_id, n.item_id, i.code, i.name as item, i.kind, i.measure, i.place, n.step_key as step, n.origin, n.qty, n.aside, n.used,
		n.unposted, n.must, n.choice, n.condition, coalesce(o.code, '') as instead_of,
		coalesce(n.instead_of, 0) as other_id, n.version,
		(select closed_at is not null from job where id = n.job_id) as over, coalesce(st.id, 0) as step_id,
		exists (select from signoff g where g.step_id = st.id and g.role = 'done'
			and not exists (select from cross_out x where x.signoff_id = g.id)) as signed, coalesce(b.qty - b.aside, 0) as free, i.sale_minor
	from need n join item i on i.id = n.item_id left join item o on o.id = n.instead_of left join balance b on b.item_id = n.item_id
	left join sheet_step st on st.job_id = n.job_id and st.key = n.step_key`

// OfJobs reads what jobs need, by step.
func OfJobs(ctx context.Context, q db.Querier, jobs ...int64) ([]Need, error) {
	rows, err := q.Query(ctx, selectNeed+" where n.job_id = any ($1) order by n.job_id, n.step_key, i.code_key", jobs)
	list, err := db.All[Need](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what jobs need: %w", err)
	}
	return list, nil
}

// Aside is how much of each item lies aside for a job.
func Aside(ctx context.Context, q db.Querier, job int64) (map[int64]int64, error) {
	rows, err := q.Query(ctx, "select item_id, sum(aside)::bigint as qty from need where job_id = $1 and aside > 0 group by item_id", job)
	list, err := db.All[struct{ ItemID, Qty int64 }](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what lies aside: %w", err)
	}
	aside := map[int64]int64{}
	for _, a := range list {
		aside[a.ItemID] = a.Qty
	}
	return aside, nil
}

// Lacking reads what the work of a job waits for.
func Lacking(ctx context.Context, q db.Querier, job int64) ([]Need, error) {
	needs, err := OfJobs(ctx, q, job)
	return slices.DeleteFunc(needs, func(n Need) bool { return !n.Lacks() }), err
}

// Job is what a parts list asks of a job.
type Job struct {
	ID       int64
	Services []string // codes
	ModelID  int64    // 0: not known
	Sheet    bool     // there is a bench sheet
	Steps    []string // keys of its steps that are not signed
}

// openSQL is that a need n is open, as Open reckons it.
const openSQL = "n.choice = 'new' and n.aside + n.used + n.unposted < n.qty and (n.step_key = '' or n.used + n.unposted = 0)"

// wantedLine reads the lines of parts lists with the item that is bought instead of
// one that is no longer kept; without such a one it asks for nothing.
const wantedLine = `select l.id, l.service_code as service, coalesce(l.model_id, 0) as model_id, '' as model, i.id as item_id, i.code, i.name as item, i.kind,
		i.measure, l.step_key as step, l.qty, l.must
	from parts_line l join item o on o.id = l.item_id
	join item i on i.id = case when o.left_on is null then o.id else o.replaced_by end and i.left_on is null and i.measure = o.measure`

// Settle brings what a job needs in line with the parts lists of its services and
// sets aside what is free. A line for a step that its bench sheet has not is for
// another fork, and one that is signed has what it took. What it needs no more goes back, unless somebody added it
// by hand or some of it is used. It gives back what the job waits for.
func Settle(ctx context.Context, tx pgx.Tx, j Job) ([]Need, error) {
	rows, err := tx.Query(ctx, wantedLine+" where l.service_code = any ($1) and (l.model_id is null or l.model_id = $2) order by l.id", j.Services, j.ModelID)
	lines, err := db.All[Line](rows, err)
	if err != nil {
		return nil, fmt.Errorf("settle what a job needs: %w", err)
	}
	wants := slices.DeleteFunc(WantedOf(lines, j.ModelID), func(w Want) bool {
		return w.Step != "" && j.Sheet && !slices.Contains(j.Steps, w.Step)
	})
	return settle(ctx, tx, j.ID, ofList, wants)
}

// Pour is an amount of fluid that a step of a bench sheet names.
type Pour struct {
	Step  string
	Fluid string
	Qty   int64 // µL
}

// SettlePours does the same for the fluids of a bench sheet that stand on the
// shelf under the name the sheet has for them. A step that a parts list has an item
// for takes that one.
func SettlePours(ctx context.Context, tx pgx.Tx, job int64, pours []Pour) ([]Need, error) {
	names := make([]string, len(pours))
	for i, p := range pours {
		names[i] = p.Fluid
	}
	fluids, err := stock.FluidsNamed(ctx, tx, names)
	if err != nil {
		return nil, err
	}
	had, err := OfJobs(ctx, tx, job)
	if err != nil {
		return nil, err
	}
	var wants []Want
	for _, p := range pours {
		listed := slices.ContainsFunc(had, func(n Need) bool { return n.Step == p.Step && n.Origin != ofSheet })
		if id := fluids[fold.Text(p.Fluid)]; id != 0 && !listed && p.Qty > 0 {
			wants = append(wants, Want{id, p.Step, p.Qty, true})
		}
	}
	return settle(ctx, tx, job, ofSheet, wants)
}

// serves reports whether a need is what is wanted, or stands in its place.
func (n Need) serves(w Want) bool {
	return n.Step == w.Step && (n.ItemID == w.ItemID || n.OtherID == w.ItemID)
}

// settle makes the needs of an origin those that are wanted.
func settle(ctx context.Context, tx pgx.Tx, job int64, origin string, wants []Want) ([]Need, error) {
	had, err := OfJobs(ctx, tx, job)
	if err != nil || len(had)+len(wants) == 0 {
		return nil, err
	}
	items := make([]int64, len(wants))
	for i, w := range wants {
		items[i] = w.ItemID
	}
	s, err := lockAll(ctx, tx, had, items...)
	if err != nil {
		return nil, err
	}
	var batch pgx.Batch
	for _, n := range had {
		if n.Origin == origin && n.Choice == New && n.Used+n.Unposted == 0 && !slices.ContainsFunc(wants, n.serves) {
			if err := s.SetAside(ctx, tx, n.ItemID, -n.Aside); err != nil {
				return nil, err
			}
			batch.Queue("delete from need where id = $1", n.ID)
		}
	}
	for _, w := range wants {
		at := slices.IndexFunc(had, func(n Need) bool { return n.serves(w) })
		switch {
		case at < 0:
			batch.Queue("insert into need (job_id, item_id, step_key, origin, qty, must) values ($1, $2, $3, $4, $5, $6)",
				job, w.ItemID, w.Step, origin, w.Qty, w.Must)
		case had[at].Origin == origin && (had[at].Qty != w.Qty || had[at].Must != w.Must):
			if err := had[at].want(ctx, tx, s, &batch, w); err != nil {
				return nil, err
			}
		}
	}
	if err := tx.SendBatch(ctx, &batch).Close(); err != nil {
		return nil, fmt.Errorf("settle what a job needs: %w", db.Translate(err))
	}
	return fill(ctx, tx, s, job)
}

// want changes how much is needed; what lies aside beyond that goes back.
func (n Need) want(ctx context.Context, tx pgx.Tx, s *stock.Shelf, batch *pgx.Batch, w Want) error {
	qty := max(w.Qty, n.Used+n.Unposted)
	aside := min(n.Aside, qty-n.Used-n.Unposted)
	if err := s.SetAside(ctx, tx, n.ItemID, aside-n.Aside); err != nil {
		return err
	}
	batch.Queue("update need set qty = $2, aside = $3, must = $4, version = version + 1 where id = $1", n.ID, qty, aside, w.Must)
	return nil
}

// lockAll takes the balances of what is needed and of other items.
func lockAll(ctx context.Context, tx pgx.Tx, needs []Need, items ...int64) (*stock.Shelf, error) {
	for _, n := range needs {
		items = append(items, n.ItemID)
	}
	return stock.Lock(ctx, tx, items...)
}

// fill sets aside for a job what is free of what it still wants, and gives back what
// it waits for. The shelf holds every item that the job needs.
func fill(ctx context.Context, tx pgx.Tx, s *stock.Shelf, job int64) (lacks []Need, err error) {
	needs, err := OfJobs(ctx, tx, job)
	if err != nil {
		return nil, err
	}
	for _, n := range needs {
		more := min(n.Open(), max(s.Of(n.ItemID).Free(), 0))
		if more > 0 {
			if err := keepAside(ctx, tx, s, &n, more); err != nil {
				return nil, err
			}
		}
		if n.Lacks() {
			lacks = append(lacks, n)
		}
	}
	return lacks, nil
}

// keepAside changes what lies aside for a need, on the shelf and with it.
func keepAside(ctx context.Context, tx pgx.Tx, s *stock.Shelf, n *Need, more int64) error {
	if err := s.SetAside(ctx, tx, n.ItemID, more); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, "update need set aside = aside + $2, version = version + 1 where id = $1", n.ID, more); err != nil {
		return fmt.Errorf("keep what lies aside: %w", db.Translate(err))
	}
	n.Aside += more
	n.Version++
	return nil
}

// Release puts back what lies aside for a job that has ended and was not used, and
// gives back which items those are.
func Release(ctx context.Context, tx pgx.Tx, job int64) (items []int64, err error) {
	needs, err := OfJobs(ctx, tx, job)
	needs = slices.DeleteFunc(needs, func(n Need) bool { return n.Aside == 0 })
	if err != nil || len(needs) == 0 {
		return nil, err
	}
	s, err := lockAll(ctx, tx, needs)
	if err != nil {
		return nil, err
	}
	for _, n := range needs {
		if err := keepAside(ctx, tx, s, &n, -n.Aside); err != nil {
			return nil, err
		}
		items = append(items, n.ItemID)
	}
	return items, nil
}
