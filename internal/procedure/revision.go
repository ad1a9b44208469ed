package procedure

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
)

// What a revision of a block is: the one that bench sheets take, one that was,
// one the shop is at, or a newer shipped one that waits beside the shop's own.
const (
	StateDraft   = "draft"
	StateCurrent = "current"
	StatePast    = "past"
	StateOffered = "offered"
)

// Revision is a block as it was or is to be.
type Revision struct {
	Block
	ID      int64
	State   string
	Shipped int    // the number of the shipped text it is; 0 for the shop's own
	BasedOn int64  // the revision that the shop's own began with, 0 for a shipped one
	Words   string // what changed and why
	PutBy   string // who put it in force, or who is at it
	PutAt   *time.Time
	Version int // of a draft
}

const selectRevision = `select b.id, b.code, b.title, b.revision, b.state, coalesce(b.shipped, 0) as shipped,
		coalesce(b.based_on, 0) as based_on, b.words, coalesce(p.name, '') as put_by, b.put_at, b.version
	from block b left join staff p on p.id = b.put_by`

// revisionRow is a Revision without its steps.
type revisionRow struct {
	ID       int64
	Code     string
	Title    string
	Revision int
	State    string
	Shipped  int
	BasedOn  int64
	Words    string
	PutBy    string
	PutAt    *time.Time
	Version  int
}

func (r revisionRow) revision() Revision {
	return Revision{Block: Block{Code: r.Code, Title: r.Title, Revision: r.Revision}, ID: r.ID, State: r.State, Shipped: r.Shipped,
		BasedOn: r.BasedOn, Words: r.Words, PutBy: r.PutBy, PutAt: r.PutAt, Version: r.Version}
}

// Revisions lists the revisions of a block without their steps, the newest
// first, or those in force of every block where the code is empty.
func Revisions(ctx context.Context, q db.Querier, code string) ([]Revision, error) {
	rows, err := q.Query(ctx, selectRevision+` where b.code = $1 or $1 = '' and b.state <> 'past' order by b.code, b.revision desc`, code)
	found, err := db.All[revisionRow](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list revisions: %w", err)
	}
	list := make([]Revision, len(found))
	for i, r := range found {
		list[i] = r.revision()
	}
	slices.SortStableFunc(list, func(a, b Revision) int { return place(a.Code) - place(b.Code) })
	return list, nil
}

// place is where a block first stands in the order.
func place(code string) int {
	return slices.IndexFunc(order, func(st stretch) bool { return st.block == code })
}

// InState reads the revision of a block that is in force, at work or offered;
// NotFound where there is none.
func InState(ctx context.Context, q db.Querier, code, state string) (Revision, error) {
	return readRevision(ctx, q, " where b.code = $1 and b.state = $2 order by b.revision desc limit 1", code, state)
}

// Numbered reads any revision of a block.
func Numbered(ctx context.Context, q db.Querier, code string, number int) (Revision, error) {
	return readRevision(ctx, q, " where b.code = $1 and b.revision = $2", code, number)
}

// Newest reads the newest shipped text of a block that the database holds, in
// force or not: what the shop's own is held against.
func Newest(ctx context.Context, q db.Querier, code string) (Revision, error) {
	return readRevision(ctx, q, " where b.code = $1 and b.shipped is not null order by b.shipped desc limit 1", code)
}

func readRevision(ctx context.Context, q db.Querier, where string, args ...any) (Revision, error) {
	rows, err := q.Query(ctx, selectRevision+where, args...)
	row, err := db.One[revisionRow](rows, err, "revision of this block")
	if err != nil {
		return Revision{}, fmt.Errorf("read revision: %w", err)
	}
	r := row.revision()
	stepRows, err := q.Query(ctx, `select s.id, b.code as block, b.title as block_title, s.key, s.kind, s.title, s.text,
			s.caution, s.place, s.spec_key, s.grades, s.grp, s.stop_here, s.second_check, s.may_be_unknown, s.tools, s.parts, s.minutes, s.fasteners, s.conditions
		from step s join block b on b.id = s.block_id where b.id = $1 order by s.seq`, r.ID)
	if r.Steps, err = db.All[Step](stepRows, err); err != nil {
		return Revision{}, fmt.Errorf("read revision: %w", err)
	}
	return r, nil
}

// absent makes of a revision that is not there an empty one.
func absent(r Revision, err error) (Revision, error) {
	if errors.As(err, new(fault.NotFound)) {
		return Revision{}, nil
	}
	return r, err
}

// Standing is how a block stands: what is in force, and what may come after it.
// A revision that there is none of is empty.
type Standing struct {
	InForce, Draft, Offered Revision
	Shipped                 Revision // the newest shipped text, in force or not
}

// Stand reads how a block stands; NotFound for one there is none of.
func Stand(ctx context.Context, q db.Querier, code string) (s Standing, err error) {
	if s.InForce, err = InState(ctx, q, code, StateCurrent); err != nil {
		return s, err
	}
	if s.Draft, err = absent(InState(ctx, q, code, StateDraft)); err != nil {
		return s, err
	}
	if s.Offered, err = absent(InState(ctx, q, code, StateOffered)); err != nil {
		return s, err
	}
	s.Shipped, err = absent(Newest(ctx, q, code))
	return s, err
}

// Faults is what keeps the draft from being put in force.
func (s Standing) Faults() []string {
	return BlockFaults(s.Draft.Block, s.InForce.Block, s.Shipped.Block)
}

// Step is the step of that key, nil for none.
func (b Block) Step(key string) *Step { return byKey(b.Steps, key) }
