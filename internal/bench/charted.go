package bench

import (
	"context"
	"errors"
	"fmt"

	"damperdesk/internal/db"
	"damperdesk/internal/quantity"
	"damperdesk/internal/spec"
)

// Charted is what the set-up chart gives this job's rider for a setting.
type Charted struct {
	RiderKG    float64
	PressurePa *float64
	Count      *int
	Form       string     // what is counted, empty for a pressure
	Ends       *spec.Ends // where it has nothing for that rider
	Source     string
}

// ChartedAt reads, by the keys of the steps of the final check that set the
// pressure or a count, what the chart of the spec sheet gives that the job was
// filled from. Pressures are what a gauge in that unit shows and never above the
// step's ceiling. It is empty where the rider's mass is not known.
func ChartedAt(ctx context.Context, q db.Querier, s Sheet, unit quantity.Unit) (map[string]Charted, error) {
	if s.Job.RiderKG == nil {
		return nil, nil
	}
	var sheetID *int64
	err := q.QueryRow(ctx, `select max(f.sheet_id) from sheet_step o join sheet_value f on f.id = o.sheet_value_id where o.job_id = $1`, s.Job.ID).Scan(&sheetID)
	if err != nil {
		return nil, fmt.Errorf("which spec sheet filled job %d: %w", s.Job.ID, err)
	}
	if sheetID == nil {
		return nil, nil
	}
	chart, err := spec.SetupOf(ctx, q, *sheetID)
	if err != nil || len(chart.Rows) == 0 {
		return nil, err
	}
	chart.Unit = unit
	return s.charted(chart, *s.Job.RiderKG), nil
}

func (s Sheet) charted(chart spec.Setup, riderKG float64) map[string]Charted {
	list := map[string]Charted{}
	for _, step := range s.Steps {
		key, known := spec.Find(step.SpecKey)
		if !known || step.Block != blockProve {
			continue
		}
		most := 0.0
		if step.CeilingSI != nil {
			most = *step.CeilingSI
		}
		c := Charted{RiderKG: riderKG, Form: key.Form, Source: chart.From.Source()}
		row, err := chart.At(riderKG, most)
		var ends spec.Ends
		if errors.As(err, &ends) {
			c.Ends = &ends
		}
		switch {
		case key.ID == "rider pressure" && chart.Has("pressure"):
			c.PressurePa = row.PressurePa
		case key.Adjuster == "rebound" && key.Setting && chart.Has("rebound"):
			c.Count = row.Rebound
		case key.Adjuster == "compression" && key.Setting && chart.Has("compression"):
			c.Count = row.Compression
		default:
			continue
		}
		list[step.Key] = c
	}
	return list
}
