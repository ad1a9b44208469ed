package plan

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/job"
	"damperdesk/internal/procedure"
)

// Unit is one of those a customer brings, and what is wanted of it.
type Unit struct {
	job.Work
	UnitID     int64 // 0: it was never here
	Facts      procedure.Facts
	MechanicID int64      // 0: whoever is free
	Unopened   bool       // a warranty claim to be authorised before it is begun
	Lacks      bool       // the shelf has not all that it needs
	PartsOn    *time.Time // the day that will be here, at midnight UTC; nil: not known
}

// known is what the shop knows of a unit, or of a model.
type known struct {
	ID                   int64
	ModelID              int64
	Kind, Spring, Damper string
}

// Recognize adds what is known of units: of those that were here by their ids,
// of others by their model.
func Recognize(ctx context.Context, q db.Querier, list []Unit) error {
	var units, models []int64
	for _, u := range list {
		units, models = append(units, u.UnitID), append(models, u.ModelID)
	}
	var ofUnits, ofModels []known
	var b pgx.Batch
	db.Queue(&b, &ofUnits, `select u.id, coalesce(u.model_id, 0) as model_id, u.kind,
			coalesce(i.spring, m.spring, '') as spring, coalesce(i.damper, m.damper, '') as damper
		from unit u left join model m on m.id = u.model_id
		left join lateral (select spring, damper from unit_inside where unit_id = u.id order by id desc limit 1) i on true
		where u.id = any ($1)`, units)
	db.Queue(&b, &ofModels, "select id, id as model_id, kind, spring, damper from model where id = any ($1)", models)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return fmt.Errorf("recognize units: %w", err)
	}
	for i := range list {
		u := &list[i]
		from, id := ofModels, u.ModelID
		if u.UnitID != 0 {
			from, id = ofUnits, u.UnitID
		}
		for _, k := range from {
			if k.ID == id {
				u.ModelID, u.Facts.Kind, u.Facts.Spring, u.Facts.Damper = k.ModelID, k.Kind, k.Spring, k.Damper
			}
		}
	}
	return nil
}
