// Package spec holds the models of forks, shocks and seatposts, and the
// revisioned sheet of values of each model with the source of every value. A
// sheet is frozen once another person has checked it.
package spec

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// Model is a fork, rear shock or seatpost as its maker built it.
type Model struct {
	ID        int64
	Kind      string // "fork", "rear shock", "seatpost"
	Maker     string
	Name      string
	Years     string
	TravelMM  *int
	Spring    string // "air", "coil", "none"
	Damper    string // "shared oil", "sealed", "cartridge", "none"
	SpringLeg string // "left", "right", empty when not known or neither
	DamperLeg string
	Lowers    string   // "arch front", "arch back", empty when not known
	Adjusters []string // of "rebound", "compression", "lockout", "preload"
	Positions []string // what those of the lockout are called, from closed; empty: only counted
	Build
	Version  int
	Revision int // of the current spec sheet, 0 for none
	Draft    int // of the revision somebody is at, 0 for none
}

// What a model may be and have. An empty leg or way round of the lowers is one
// that is not known.
var (
	ModelKinds     = []string{"fork", "rear shock", "seatpost"}
	ModelSprings   = []string{"air", "coil", "none"}
	ModelDampers   = []string{"shared oil", "sealed", "cartridge", "none"}
	ModelLegs      = []string{"", "left", "right"}
	ModelLowers    = []string{"", "arch front", "arch back"}
	ModelAdjusters = []string{"rebound", "compression", "lockout", "preload"}
)

// Title is how a model is spoken of.
func (m Model) Title() string { return m.Maker + " " + m.Name }

const selectModel = `select m.id, m.kind, m.maker, m.name, m.years, m.travel_mm, m.spring, m.damper,
		coalesce(m.spring_leg, '') as spring_leg, coalesce(m.damper_leg, '') as damper_leg,
		m.lowers, m.adjusters, m.positions, m.wheel_mm, m.stanchion_mm, coalesce(m.crowns, '') as crowns,
		coalesce(m.steerer, '') as steerer, coalesce(m.axle, '') as axle, m.version, coalesce(s.revision, 0) as revision, coalesce(d.revision, 0) as draft
	from model m left join sheet s on s.model_id = m.id and s.state = 'current'
	left join sheet d on d.model_id = m.id and d.state = 'draft'`

// Models lists the library by maker and name.
func Models(ctx context.Context, q db.Querier) ([]Model, error) {
	rows, err := q.Query(ctx, selectModel+" order by lower(m.maker), lower(m.name), m.years, m.id")
	list, err := db.All[Model](rows, err)
	if err != nil {
		return nil, fmt.Errorf("list models: %w", err)
	}
	return list, nil
}

// GetModel reads one model.
func GetModel(ctx context.Context, q db.Querier, id int64) (Model, error) {
	rows, err := q.Query(ctx, selectModel+" where m.id = $1", id)
	m, err := db.One[Model](rows, err, "model")
	if err != nil {
		return Model{}, fmt.Errorf("get model %d: %w", id, err)
	}
	return m, nil
}

// AddModel puts a model into the library. ID, Version, Revision and Draft are
// not taken from m.
func AddModel(ctx context.Context, tx pgx.Tx, by history.By, m Model) (int64, error) {
	m, err := m.settled(by)
	if err != nil {
		return 0, err
	}
	var id int64
	err = tx.QueryRow(ctx, `insert into model
		(kind, maker, name, years, travel_mm, spring, damper, spring_leg, damper_leg, lowers, adjusters,
			wheel_mm, stanchion_mm, crowns, steerer, axle, positions)
		values ($1, $2, $3, $4, $5, $6, $7, nullif($8, ''), nullif($9, ''), $10, $11,
			$12, $13, nullif($14, ''), nullif($15, ''), nullif($16, ''), $17) returning id`, m.columns()...).Scan(&id)
	if err != nil {
		return 0, fmt.Errorf("add model: %w", db.Translate(err))
	}
	return id, history.Append(ctx, tx, by, history.Event{SubjectKind: "model", SubjectID: id, Kind: "model added"})
}

// ChangeModel corrects what a model is. Bench sheets that are started keep what
// they were started with. Its kind stays once a spec sheet or a unit is of it.
func ChangeModel(ctx context.Context, tx pgx.Tx, by history.By, id int64, version int, m Model) error {
	before, err := GetModel(ctx, tx, id)
	if err != nil {
		return err
	}
	if m, err = m.settled(by); err != nil {
		return err
	}
	tied, err := Tied(ctx, tx, id)
	if err != nil {
		return err
	}
	if tied.Any() && m.Kind != before.Kind {
		return fault.Field("kind", "There is a spec sheet or a unit of this "+before.Kind+"; add another model instead.")
	}
	tag, err := tx.Exec(ctx, `update model set kind = $3, maker = $4, name = $5, years = $6, travel_mm = $7, spring = $8, damper = $9,
			spring_leg = nullif($10, ''), damper_leg = nullif($11, ''), lowers = $12, adjusters = $13, wheel_mm = $14,
			stanchion_mm = $15, crowns = nullif($16, ''), steerer = nullif($17, ''), axle = nullif($18, ''), positions = $19, version = version + 1
		where id = $1 and version = $2`, append([]any{id, version}, m.columns()...)...)
	if err := db.Changed(tag, err); err != nil {
		return fmt.Errorf("change model %d: %w", id, db.Translate(err))
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "model", SubjectID: id, Kind: "model changed"})
}

// columns are what a form says of a model, in the order of the table.
func (m Model) columns() []any {
	return []any{m.Kind, m.Maker, m.Name, m.Years, m.TravelMM, m.Spring, m.Damper, m.SpringLeg, m.DamperLeg, m.Lowers, m.Adjusters,
		m.WheelMM, m.StanchionMM, m.Crowns, m.Steerer, m.Axle, m.Positions}
}

// Ties are what stands on a model.
type Ties struct{ Sheets, Units int }

// Any reports whether anything does.
func (t Ties) Any() bool { return t.Sheets+t.Units > 0 }

// Tied counts what stands on a model.
func Tied(ctx context.Context, q db.Querier, id int64) (t Ties, err error) {
	err = q.QueryRow(ctx, `select (select count(*) from sheet where model_id = $1), (select count(*) from unit where model_id = $1)`, id).
		Scan(&t.Sheets, &t.Units)
	if err != nil {
		return Ties{}, fmt.Errorf("what stands on model %d: %w", id, err)
	}
	return t, nil
}

// settled is m tidied, once it may be written.
func (m Model) settled(by history.By) (Model, error) {
	m.Maker, m.Name, m.Years = strings.TrimSpace(m.Maker), strings.TrimSpace(m.Name), strings.TrimSpace(m.Years)
	if m.Adjusters == nil {
		m.Adjusters = []string{}
	}
	m.Positions = tidied(m.Positions)
	if err := mayWrite(by); err != nil {
		return m, err
	}
	return m, m.valid()
}

// valid names the fields as a form does: "kind", "maker", "name", "years", "travel",
// "spring", "damper", "spring_leg", "damper_leg", "lowers", "adjusters" and
// those of Build.
func (m Model) valid() error {
	fields := m.Build.faults(m.Kind)
	refuse := func(wrong bool, field, sentence string) {
		if wrong {
			fields[field] = sentence
		}
	}
	refuse(!slices.Contains(ModelKinds, m.Kind), "kind", "Choose fork, rear shock or seatpost.")
	refuse(m.Maker == "", "maker", "Say who makes it.")
	refuse(m.Name == "", "name", "Say what the model is called.")
	for field, text := range map[string]string{"maker": m.Maker, "name": m.Name, "years": m.Years} {
		refuse(utf8.RuneCountInString(text) > mostLetters, field, tooLong)
	}
	refuse(m.TravelMM != nil && (*m.TravelMM < 1 || *m.TravelMM > 400), "travel", "Give the travel in millimetres, from 1 to 400.")
	refuse(!slices.Contains(ModelSprings, m.Spring), "spring", "Choose air, coil or none.")
	refuse(!slices.Contains(ModelDampers, m.Damper), "damper", "Choose shared oil, sealed, cartridge or none.")
	refuse(!slices.Contains(ModelLegs, m.SpringLeg), "spring_leg", "Choose left or right, as the rider sees it.")
	refuse(!slices.Contains(ModelLegs, m.DamperLeg), "damper_leg", "Choose left or right, as the rider sees it.")
	refuse(!slices.Contains(ModelLowers, m.Lowers), "lowers", "Choose arch in front or arch behind.")
	for _, a := range m.Adjusters {
		refuse(!slices.Contains(ModelAdjusters, a), "adjusters", "Choose from rebound, compression, lockout and preload.")
	}
	refuse(len(m.Positions) > 0 && !slices.Contains(m.Adjusters, "lockout"), "positions", "Only a lockout has positions with names: tick it among the adjusters.")
	refuse(len(m.Positions) == 1 || len(m.Positions) > mostPositions, "positions", "Name two to eight positions, from closed, with commas between them.")
	refuse(slices.ContainsFunc(m.Positions, func(p string) bool { return utf8.RuneCountInString(p) > mostPosition }), "positions", "At most 20 characters for each name.")
	refuse(len(slices.Compact(slices.Sorted(slices.Values(m.Positions)))) < len(m.Positions), "positions", "Two positions have one name.")
	preload := slices.Contains(m.Adjusters, "preload")
	refuse(preload && m.Spring != "coil", "adjusters", "Preload is turned on a coil spring only.")
	if len(fields) > 0 {
		return &fault.Invalid{Fields: fields}
	}
	return nil
}

// What the positions of a lever may be: as many as the registry takes for one,
// each short enough for a key.
const (
	mostPositions = 8
	mostPosition  = 20 // characters
)

// tidied are the names without blanks around them, empty ones left out.
func tidied(names []string) []string {
	list := []string{}
	for _, n := range names {
		if n = strings.TrimSpace(n); n != "" {
			list = append(list, n)
		}
	}
	return list
}

// mayWrite: the library is the mechanics' and the owner's.
func mayWrite(by history.By) error {
	if by.Has("mechanic") || by.Has("owner") {
		return nil
	}
	return fault.Forbidden("Models and spec sheets are changed by a mechanic or the owner.")
}
