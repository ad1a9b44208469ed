package spec

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/quantity"
)

// Inside is how one unit is inside, as somebody found or built it. What is empty
// or nil is as its model has it.
type Inside struct {
	ID       int64 // 0: nobody has said anything
	UnitID   int64
	Spring   string
	Damper   string
	RateNM   *float64 // of a coil, N/m
	RateUnit quantity.Unit
	TravelMM *int
	Spacers  *int // volume spacers of an air spring
	Notes    string
	By       string
	At       time.Time

	Values []UnitValue `db:"-"`
}

// UnitValue is a value for one unit alone.
type UnitValue struct {
	Value
	At time.Time
}

// Any reports whether the unit is known to differ from its model.
func (in Inside) Any() bool {
	return in.Spring != "" || in.Damper != "" || in.RateNM != nil || in.TravelMM != nil || in.Spacers != nil || in.Notes != "" || len(in.Values) > 0
}

// InsideOf reads how a unit is inside; without anything on record that is an
// Inside with ID 0.
func InsideOf(ctx context.Context, q db.Querier, unitID int64) (Inside, error) {
	var (
		built  []Inside
		values []UnitValue
		b      pgx.Batch
	)
	db.Queue(&b, &built, `select i.id, i.unit_id, coalesce(i.spring, '') as spring, coalesce(i.damper, '') as damper, i.rate_n_m,
			i.rate_unit, i.travel_mm, i.spacers, i.notes, s.name as by, i.at
		from unit_inside i join staff s on s.id = i.actor_id where i.unit_id = $1 order by i.id desc limit 1`, unitID)
	db.Queue(&b, &values, `select v.id, v.key, v.place, v.nominal_si, v.minus_si, v.plus_si, v.shown_unit, v.entered, v.fluid,
			v.source_kind, null::bigint as document_id, '' as page, v.source_words,
			case when v.source_kind = 'document' then v.source_words else '' end as document_title, '' as document_edition,
			s.name as by, v.at
		from (select distinct on (key, place) * from unit_value where unit_id = $1 order by key, place, id desc) v
		join staff s on s.id = v.actor_id where v.nominal_si is not null order by v.id`, unitID)
	if err := q.SendBatch(ctx, &b).Close(); err != nil {
		return Inside{}, fmt.Errorf("read inside of unit %d: %w", unitID, err)
	}
	in := Inside{UnitID: unitID}
	if len(built) > 0 {
		in = built[0]
	}
	in.Values = values
	return in, nil
}

// On is the model as this unit is built.
func (in Inside) On(m Model) Model {
	if in.Spring != "" {
		m.Spring = in.Spring
	}
	if in.Damper != "" {
		m.Damper = in.Damper
	}
	if in.TravelMM != nil {
		m.TravelMM = in.TravelMM
	}
	return m
}

// Over is the sheet of a unit of that kind with this unit's own values in place of its own. Where one
// stands for several places, it stands for each of them.
func (in Inside) Over(sheet Sheet, kind string) Sheet {
	own := in.built(sheet)
	for _, v := range in.Values {
		own = append(own, v.Value)
	}
	for _, v := range own {
		sheet.Values = slices.DeleteFunc(slices.Clone(sheet.Values), func(o Value) bool {
			return o.Key == v.Key && (v.Place == "" || o.Place != "" && containsPlace(v.Place, o.Place))
		})
		v.ID, v.OfUnit = 0, kind
		sheet.Values = append(sheet.Values, v)
	}
	return sheet
}

// built are the spec keys that the build answers; a window that the sheet has
// for the same key stays about it.
func (in Inside) built(sheet Sheet) []Value {
	var list []Value
	add := func(key string, si float64, unit quantity.Unit) {
		v := Value{Key: key, NominalSI: si, ShownUnit: unit, SourceKind: asBuilt, By: in.By}
		if of, ok := sheet.Value(key, ""); ok {
			v.MinusSI, v.PlusSI = of.MinusSI, of.PlusSI
		}
		list = append(list, v)
	}
	if in.TravelMM != nil {
		add("travel", float64(*in.TravelMM)/1000, quantity.Millimetre)
	}
	if in.RateNM != nil {
		add("coil rate", *in.RateNM, in.RateUnit)
	}
	if in.Spacers != nil {
		add("volume spacers", float64(*in.Spacers), "")
	}
	return list
}

// PutInside writes how a unit is inside now; seen is the ID of what stood there
// before, as the person saw it. Fields are "spring", "damper", "rate", "travel",
// "spacers" and "notes".
func PutInside(ctx context.Context, tx pgx.Tx, by history.By, unitID, seen int64, in Inside) error {
	in.Notes = strings.TrimSpace(in.Notes)
	if err := mayWrite(by); err != nil {
		return err
	}
	if err := in.valid(); err != nil {
		return err
	}
	now, err := InsideOf(ctx, tx, unitID)
	if err != nil {
		return err
	}
	if now.ID != seen {
		return errInsideChanged
	}
	_, err = tx.Exec(ctx, `insert into unit_inside (unit_id, replaces, spring, damper, rate_n_m, rate_unit, travel_mm, spacers, notes, actor_id, intent_id, at)
		values ($1, nullif($2, 0), nullif($3, ''), nullif($4, ''), $5, $6, $7, $8, $9, $10, $11, $12)`,
		unitID, seen, in.Spring, in.Damper, in.RateNM, in.RateUnit, in.TravelMM, in.Spacers, in.Notes, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("write inside of unit %d: %w", unitID, db.Translate(err))
	}
	return ofUnit(ctx, tx, by, unitID, "inside noted", nil)
}

var errInsideChanged = fault.Conflict("Somebody else changed what is inside since you opened it; look again.")

// What is written about the inside of a unit at most, in letters.
const mostNotes = 2000

func (in Inside) valid() error {
	fields := map[string]string{}
	refuse := func(wrong bool, field, sentence string) {
		if wrong {
			fields[field] = sentence
		}
	}
	refuse(in.Spring != "" && !slices.Contains(ModelSprings, in.Spring), "spring", "Choose air, coil or none, or as the model has it.")
	refuse(in.Damper != "" && !slices.Contains(ModelDampers, in.Damper), "damper", "Choose from the list, or as the model has it.")
	refuse(in.TravelMM != nil && (*in.TravelMM < 1 || *in.TravelMM > 400), "travel", "Give the travel in millimetres, from 1 to 400.")
	refuse(in.RateNM != nil && in.Spring == "air", "rate", "Only a coil has a rate; leave it open for an air spring.")
	refuse(in.RateNM != nil && (*in.RateNM < 1000 || *in.RateNM > 50000), "rate", "Give the rate of the coil, from 1 to 50 N/mm.")
	refuse(in.Spacers != nil && in.Spring == "coil", "spacers", "Only an air spring has volume spacers; leave it open for a coil.")
	refuse(in.Spacers != nil && (*in.Spacers < 0 || *in.Spacers > 20), "spacers", "Give the number of spacers, from 0 to 20.")
	refuse(utf8.RuneCountInString(in.Notes) > mostNotes, "notes", fmt.Sprintf("At most %d characters fit here.", mostNotes))
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}
