package due

import (
	"context"
	"slices"
	"time"

	"damperdesk/internal/db"
)

// Key names a service of a unit.
type Key struct {
	Unit    int64
	Service string // its code
}

// Key is that of the row.
func (r Row) Key() Key { return Key{r.ID, r.Code} }

// Chosen reads what keys name, in their order, each once, without what is here,
// booked or put off by now, and what comes never due. All of it is reckoned on the
// spot, with as many queries for a hundred as for one.
func Chosen(ctx context.Context, q db.Querier, now time.Time, keys []Key) ([]Row, error) {
	var units []int64
	for _, k := range keys {
		units = append(units, k.Unit)
	}
	rows, err := ofUnits(ctx, q, now, units...)
	if err != nil {
		return nil, err
	}
	standing, err := PutOffs(ctx, q, units...)
	if err != nil {
		return nil, err
	}
	off := map[int64][]PutOff{}
	for _, p := range standing {
		off[p.UnitID] = append(off[p.UnitID], p)
	}
	may := map[Key]Row{}
	for _, r := range rows {
		holds := func(p PutOff) bool { return p.Holds(r.Code, r.Today) }
		if r.OpenJobID == 0 && !slices.ContainsFunc(off[r.ID], holds) {
			may[r.Key()] = r
		}
	}
	var list []Row
	for _, k := range keys {
		if r, ok := may[k]; ok {
			list = append(list, r)
			delete(may, k)
		}
	}
	return list, nil
}
