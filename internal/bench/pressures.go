package bench

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"damperdesk/internal/db"
	"damperdesk/internal/stat"
)

// Ridden is the pressure that a unit went back with, and the weight of its rider
// with kit.
type Ridden struct {
	Number     int // of the job
	RiderKG    float64
	PressurePa float64
}

// RiddenModel lists them for a model, the light riders first: the last job of
// each unit that was handed over as done or stands ready for it.
func RiddenModel(ctx context.Context, q db.Querier, modelID int64) ([]Ridden, error) {
	rows, err := q.Query(ctx, `select number, rider_kg, pressure_pa from (
			select distinct on (u.id) j.number, j.rider_kg::float8, o.value_si::float8 as pressure_pa
			from unit u join job j on j.unit_id = u.id join sheet_step s on s.job_id = j.id join signoff o on o.step_id = s.id
			where u.model_id = $1 and s.key = $2 and j.rider_kg is not null and o.value_si > 0 and o.role = $3 and o.outcome = $4
				and j.stage in ('ready for pickup', 'picked up', 'sent back') and coalesce(j.ending, 'done') = 'done'
				and not exists (select from cross_out x where x.signoff_id = o.id)
			order by u.id, o.id desc) last
		order by rider_kg, number`, modelID, keyPressureOut, RoleDone, OutcomeDone)
	list, err := db.All[Ridden](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read the pressures of a model: %w", err)
	}
	return list, nil
}

// LeastRidden is how many units Advise takes: with six, Student’s t makes the
// interval a fifth wider than if the spread of all riders were known.
const LeastRidden = 6

// Why there is no advice with riders enough.
var (
	ErrBeyond    = errors.New("no rider as light or as heavy has been here")
	ErrOneWeight = errors.New("all riders were of one weight")
)

// Advice is what riders of a weight had in a model.
type Advice struct {
	Line     stat.Line // of the pressure in Pa over the weight in kg
	Pressure float64   // Pa, on the line
	Between  stat.Interval
}

// Advise fits a line through what riders had; Between holds the next of them
// with the chance level. It is stat.TooFew below LeastRidden, ErrOneWeight, and
// ErrBeyond with the line filled in where the weight lies outside those that were
// seen.
func Advise(list []Ridden, riderKG, level float64) (Advice, error) {
	if len(list) < LeastRidden {
		return Advice{}, stat.TooFew{Have: len(list), Need: LeastRidden}
	}
	var weights, pressures []float64
	for _, r := range list {
		weights, pressures = append(weights, r.RiderKG), append(pressures, r.PressurePa)
	}
	if slices.Min(weights) == slices.Max(weights) {
		return Advice{}, ErrOneWeight
	}
	line, err := stat.Straight(weights, pressures)
	if err != nil {
		return Advice{}, err
	}
	a := Advice{Line: line, Pressure: line.At(riderKG)}
	if riderKG < line.Low || riderKG > line.High {
		return a, ErrBeyond
	}
	a.Between, err = line.Next(riderKG, level)
	return a, err
}
