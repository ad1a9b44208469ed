package partslist

import (
	"context"
	"fmt"

	"damperdesk/internal/db"
)

// Foresee says of jobs that are about to be taken in, one after the other, what the
// shelf would lack for each.
func Foresee(ctx context.Context, q db.Querier, jobs []Job) ([][]Need, error) {
	var services []string
	for _, j := range jobs {
		services = append(services, j.Services...)
	}
	rows, err := q.Query(ctx, wantedLine+" where l.service_code = any ($1) order by l.id", services)
	lines, err := db.All[Line](rows, err)
	if err != nil || len(lines) == 0 {
		return make([][]Need, len(jobs)), err
	}
	items := make([]int64, len(lines))
	for i, l := range lines {
		items[i] = l.ItemID
	}
	rows, err = q.Query(ctx, "select item_id, qty - aside as free from balance where item_id = any ($1)", items)
	balances, err := db.All[struct{ ItemID, Free int64 }](rows, err)
	if err != nil {
		return nil, fmt.Errorf("foresee what jobs lack: %w", err)
	}
	free := map[int64]int64{}
	for _, b := range balances {
		free[b.ItemID] = max(b.Free, 0)
	}
	lacks := make([][]Need, len(jobs))
	for i, j := range jobs {
		lacks[i] = j.lacking(lines, free)
	}
	return lacks, nil
}

// lacking takes what a job wants out of what is free and gives back what is not
// there.
func (j Job) lacking(lines []Line, free map[int64]int64) (lacks []Need) {
	var own []Line
	for _, l := range lines {
		for _, service := range j.Services {
			if l.Service == service {
				own = append(own, l)
			}
		}
	}
	for _, w := range WantedOf(own, j.ModelID) {
		take := min(w.Qty, free[w.ItemID])
		free[w.ItemID] -= take
		if !w.Must || take == w.Qty {
			continue
		}
		for _, l := range own {
			if l.ItemID == w.ItemID {
				lacks = append(lacks, Need{ItemID: l.ItemID, Code: l.Code, Item: l.Item, Kind: l.Kind, Measure: l.Measure, Step: w.Step,
					Qty: w.Qty, Aside: take, Must: true, Choice: New})
				break
			}
		}
	}
	return lacks
}
