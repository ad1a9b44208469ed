package interval

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
)

// What a unit is ridden in. Dry counts for nothing more; it is said so that an
// older habit's conditions do not go on.
const (
	Dry        = "dry"
	Wet        = "wet and gritty"
	BikePark   = "bike park"
	EBike      = "e-bike"
	HeavyRider = "heavy rider" // over heavyKG
)

// Conditions are those that can be said of riding, several at once.
var Conditions = []string{Dry, Wet, BikePark, EBike, HeavyRider}

// AtMost is the kind of factor that all others together are at most.
const AtMost = "at most"

// heavyKG is a rider's weight with kit above which HeavyRider counts. Common
// practice (no source): about 100 kg.
const heavyKG = 100

// Factor says how many hours of use an hour of riding is.
type Factor struct {
	Kind    string
	Factor  float64
	Version int
}

// shippedFactors are common practice (no source), the lower end of each range:
// wet 1.5 to 2, bike park 1.5 to 2, e-bike 1.25, a rider over about 100 kg
// 1.25, together at most 2.
var shippedFactors = []Factor{{Kind: Wet, Factor: 1.5}, {Kind: BikePark, Factor: 1.5}, {Kind: EBike, Factor: 1.25},
	{Kind: HeavyRider, Factor: 1.25}, {Kind: AtMost, Factor: 2}}

// Factors are those of the shop by kind; one that is missing counts as 1, and a
// missing AtMost holds nothing down.
type Factors map[string]Factor

// Of is what an hour counts for in those conditions, and which factors make it
// so.
func (f Factors) Of(conditions []string) (factor float64, why []Factor) {
	factor = 1
	for _, known := range shippedFactors {
		if of, ok := f[known.Kind]; ok && of.Factor > 1 && slices.Contains(conditions, of.Kind) {
			factor *= of.Factor
			why = append(why, of)
		}
	}
	if most, ok := f[AtMost]; ok && factor > most.Factor {
		return most.Factor, append(why, most)
	}
	return factor, why
}

// List is the factors in the order they are shown in.
func (f Factors) List() []Factor {
	var list []Factor
	for _, known := range shippedFactors {
		if of, ok := f[known.Kind]; ok {
			list = append(list, of)
		}
	}
	return list
}

// ReadFactors reads the shop's factors.
func ReadFactors(ctx context.Context, q db.Querier) (Factors, error) {
	rows, err := q.Query(ctx, "select kind, factor, version from ride_factor")
	list, err := db.All[Factor](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what riding counts for: %w", err)
	}
	all := Factors{}
	for _, f := range list {
		all[f.Kind] = f
	}
	return all, nil
}

func installFactors(ctx context.Context, tx pgx.Tx, by history.By) error {
	for _, f := range shippedFactors {
		tag, err := tx.Exec(ctx, "insert into ride_factor (kind, factor) values ($1, $2) on conflict do nothing", f.Kind, f.Factor)
		if err == nil && tag.RowsAffected() == 1 {
			err = f.tell(ctx, tx, by, "ride factor installed")
		}
		if err != nil {
			return fmt.Errorf("install what %s counts for: %w", f.Kind, err)
		}
	}
	return nil
}

const (
	leastFactor = 1
	mostFactor  = 3
)

// SetFactors keeps factors over the versions that were seen; what stays as it
// was is left alone. Fields of fault.Invalid are the kinds. Only an owner
// decides it.
func SetFactors(ctx context.Context, tx pgx.Tx, by history.By, factors []Factor) error {
	if !by.Has("owner") {
		return fault.Forbidden("Only an owner decides what riding counts for.")
	}
	wrong := map[string]string{}
	for _, f := range factors {
		if math.IsNaN(f.Factor) || f.Factor < leastFactor || f.Factor > mostFactor {
			wrong[f.Kind] = fmt.Sprintf("Type a number from %d to %d.", leastFactor, mostFactor)
		}
	}
	if len(wrong) > 0 {
		return &fault.Invalid{Fields: wrong}
	}
	now, err := ReadFactors(ctx, tx)
	if err != nil {
		return err
	}
	for _, f := range factors {
		if now[f.Kind].Version == f.Version && now[f.Kind].Factor == f.Factor {
			continue
		}
		err := db.Changed(tx.Exec(ctx, "update ride_factor set factor = $2, version = version + 1 where kind = $1 and version = $3", f.Kind, f.Factor, f.Version))
		if err == nil {
			err = f.tell(ctx, tx, by, "ride factor set")
		}
		if err != nil {
			return fmt.Errorf("set what %s counts for: %w", f.Kind, err)
		}
	}
	return nil
}

func (f Factor) tell(ctx context.Context, tx pgx.Tx, by history.By, kind string) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "shop", SubjectID: 1, Kind: kind,
		Detail: map[string]any{"kind": f.Kind, "factor": f.Factor}})
}
