package stock

import (
	"context"
	"fmt"
	"math"

	"damperdesk/internal/db"
)

// Entry is a move as it is read, with what it names.
type Entry struct {
	Move
	Item       string
	Measure    Measure
	ReversedBy int64 // 0: it stands
	Batch      string
	JobNumber  int
	StepKey    string
	Actor      string
}

func (e Entry) reversed() bool { return e.ReversedBy != 0 }

// Standing reports whether it can be taken back.
func (e Entry) Standing() bool { return e.ReversedBy == 0 && e.Reverses == 0 }

const selectEntry = `select m.id, m.item_id, i.name as item, i.measure, m.seq, m.kind, m.qty, m.cost_minor, m.value_minor, m.qty_after, m.value_after,
		coalesce(m.batch_id, 0) as batch_id, coalesce(m.job_id, 0) as job_id, coalesce(m.step_id, 0) as step_id,
		coalesce(m.purchase_line_id, 0) as line, coalesce(m.count_line_id, 0) as count_line_id, coalesce(m.reverses, 0) as reverses, m.reason, m.at, coalesce(r.id, 0) as reversed_by, coalesce(b.code, '') as batch,
		coalesce(j.number, 0) as job_number, coalesce(st.key, '') as step_key, coalesce(p.name, '') as actor
	from move m join item i on i.id = m.item_id left join move r on r.reverses = m.id left join batch b on b.id = m.batch_id left join job j on j.id = m.job_id
	left join sheet_step st on st.id = m.step_id left join staff p on p.id = m.actor_id`

// EntriesAtOnce is how many Entries gives at most.
const EntriesAtOnce = 50

// Entries reads the ledger of an item from the newest on that is older than seq
// before (0: from the last).
func Entries(ctx context.Context, q db.Querier, item int64, before int) ([]Entry, error) {
	if before == 0 {
		before = math.MaxInt32
	}
	rows, err := q.Query(ctx, selectEntry+" where m.item_id = $1 and m.seq < $2 order by m.seq desc limit $3", item, before, EntriesAtOnce)
	list, err := db.All[Entry](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read the ledger: %w", err)
	}
	return list, nil
}

// OfJob reads what moved for a job, in the order it was posted.
func OfJob(ctx context.Context, q db.Querier, job int64) ([]Entry, error) {
	rows, err := q.Query(ctx, selectEntry+" where m.job_id = $1 order by m.id", job)
	list, err := db.All[Entry](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what a job used: %w", err)
	}
	return list, nil
}

// GetEntry reads one move.
func GetEntry(ctx context.Context, q db.Querier, id int64) (Entry, error) {
	rows, err := q.Query(ctx, selectEntry+" where m.id = $1", id)
	return db.One[Entry](rows, err, "move")
}

// Moves reads all moves of an item in their order, for Rebuild.
func Moves(ctx context.Context, q db.Querier, item int64) ([]Move, error) {
	rows, err := q.Query(ctx, `select id, item_id, seq, kind, qty, cost_minor, value_minor, qty_after, value_after, coalesce(batch_id, 0) as batch_id,
			coalesce(job_id, 0) as job_id, coalesce(step_id, 0) as step_id, coalesce(purchase_line_id, 0) as line, coalesce(count_line_id, 0) as count_line_id, coalesce(reverses, 0) as reverses, reason, at
		from move where item_id = $1 order by seq`, item)
	list, err := db.All[Move](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read the ledger: %w", err)
	}
	return list, nil
}
