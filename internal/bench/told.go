package bench

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
)

// mostTold is how long the name of whoever was told may be, in characters.
const mostTold = 120

// NotToRide lists of some findings those that stand and say not to ride.
func NotToRide(list []Finding) []Finding {
	return slices.DeleteFunc(Standing(list), func(f Finding) bool { return f.Grade != FoundUnsafe })
}

// Tell keeps who was told, as the unit leaves, that it is not to be ridden: of
// each such finding that stands, which all have to be ticked. Without one it does
// nothing. The fields are told and toldwho.
func Tell(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, ticked []int64, who string) error {
	if _, err := tx.Exec(ctx, "select from job where id = $1 for no key update", jobID); err != nil {
		return db.Translate(err)
	}
	all, err := Findings(ctx, tx, jobID)
	if err != nil {
		return err
	}
	list := NotToRide(all)
	if err := refuseUntold(list, ticked, strings.TrimSpace(who)); err != nil {
		return err
	}
	for _, f := range list {
		_, err := tx.Exec(ctx, "insert into finding_told (finding_id, told, actor_id, intent_id, at) values ($1, $2, $3, $4, $5)",
			f.ID, strings.TrimSpace(who), by.Staff, by.Intent, by.At)
		if err != nil {
			return fmt.Errorf("keep who was told: %w", db.Translate(err))
		}
		if err := appendOfJob(ctx, tx, by, jobID, "told not to ride", f.ID); err != nil {
			return err
		}
	}
	return nil
}

func refuseUntold(list []Finding, ticked []int64, who string) error {
	if len(list) == 0 {
		return nil
	}
	wrong := fields{}
	for _, f := range list {
		if !slices.Contains(ticked, f.ID) {
			wrong["told"] = "Tick each of them once whoever takes it has been told."
		}
	}
	switch {
	case who == "":
		wrong["toldwho"] = "Say who was told."
	case utf8.RuneCountInString(who) > mostTold:
		wrong["toldwho"] = fmt.Sprintf("Keep it under %d characters.", mostTold)
	}
	return wrong.err()
}

// appendOfJob appends an event of a job whose sheet need not be read.
func appendOfJob(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, kind string, findingID int64) error {
	e := history.Event{SubjectKind: "job", SubjectID: jobID, Job: jobID, Kind: kind, Detail: map[string]any{"finding": findingID}}
	err := tx.QueryRow(ctx, "select v.customer_id, j.unit_id from job j join visit v on v.id = j.visit_id where j.id = $1", jobID).
		Scan(&e.Customer, &e.Unit)
	if err != nil {
		return fmt.Errorf("%s: %w", kind, err)
	}
	return history.Append(ctx, tx, by, e)
}

// Mishap is something that happened to a unit here, which no owner has seen.
type Mishap struct {
	ID     int64 // of the finding
	JobID  int64
	Number int
	Unit   string
	Grade  string
	Words  string
	Answer string // put right, or empty
	Actor  string
	At     time.Time
}

// Mishaps lists what happened here and no owner has seen, oldest first. What
// was withdrawn did not happen.
func Mishaps(ctx context.Context, q db.Querier) ([]Mishap, error) {
	rows, err := q.Query(ctx, `select f.id, f.job_id, j.number, coalesce(m.maker || ' ' || m.name, u.model_words) as unit, f.grade, f.words,
			coalesce(w.kind, '') as answer, a.name as actor, f.at
		from finding f join job j on j.id = f.job_id join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
		join staff a on a.id = f.actor_id left join finding_answer w on w.finding_id = f.id
		where f.cause = $1 and coalesce(w.kind, '') <> $2 and not exists (select from finding_seen s where s.finding_id = f.id)
		order by f.id`, HappenedHere, Withdrawn)
	list, err := db.All[Mishap](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what happened here: %w", err)
	}
	return list, nil
}

// See says that an owner has seen what happened here. A second owner's press
// does nothing new.
func See(ctx context.Context, tx pgx.Tx, by history.By, findingID int64) error {
	if !by.Has("owner") {
		return fault.Forbidden("What happened here is for an owner to see.")
	}
	list, err := Mishaps(ctx, tx)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(list, func(m Mishap) bool { return m.ID == findingID })
	if i < 0 {
		return nil
	}
	_, err = tx.Exec(ctx, "insert into finding_seen (finding_id, actor_id, intent_id, at) values ($1, $2, $3, $4)",
		findingID, by.Staff, by.Intent, by.At)
	if err != nil {
		return fmt.Errorf("see what happened here: %w", db.Translate(err))
	}
	return appendOfJob(ctx, tx, by, list[i].JobID, "seen by an owner", findingID)
}

// UnitFinding is a finding on a unit with the job it was found in.
type UnitFinding struct {
	Finding
	JobID  int64
	Number int
}

// mostOfUnit is how many findings the book of a unit shows.
const mostOfUnit = 30

// FindingsOfUnit lists the newest findings on a unit, newest first, without what
// was withdrawn.
func FindingsOfUnit(ctx context.Context, q db.Querier, unitID int64) ([]UnitFinding, error) {
	rows, err := q.Query(ctx, findingSQL+`where j.unit_id = $1 and coalesce(w.kind, '') <> $2 order by f.id desc limit $3`, unitID, Withdrawn, mostOfUnit)
	list, err := db.All[UnitFinding](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read findings of a unit: %w", err)
	}
	return list, nil
}
