package job

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/history"
	"damperdesk/internal/reconcile"
)

// Edit is the facts as somebody typed them, with what the numbers among them
// come to.
type Edit struct {
	Was, Mine  reconcile.Facts
	RiderKG    *float64
	RiderSure  bool // an unusual weight was asked about and is right
	LimitMinor *int64
}

// Change keeps what somebody changed about a job and its visit, beside what
// others changed meanwhile; others names those fields. Where both changed one
// field it is refused as a reconcile.Differ and nothing is kept. Fields of
// fault.Invalid are FactFields.
func Change(ctx context.Context, tx pgx.Tx, by history.By, jobID int64, e Edit) (others []string, err error) {
	j, err := lockOpen(ctx, tx, jobID)
	if err != nil {
		return nil, err
	}
	if _, err := tx.Exec(ctx, "select from visit where id = $1 for no key update", j.visitID); err != nil {
		return nil, fmt.Errorf("lock visit: %w", err)
	}
	now, err := Get(ctx, tx, jobID)
	if err != nil {
		return nil, err
	}
	visit, err := Visit(ctx, tx, j.visitID)
	if err != nil {
		return nil, err
	}
	theirs := FactsOf(now, visit)
	merged, clashes, others := reconcile.Fields(FactFields, e.Was, theirs, e.Mine)
	if err := e.check(merged, theirs, now).err(); err != nil {
		return nil, err
	}
	if len(clashes) > 0 {
		return nil, reconcile.Differ{Clashes: clashes, Merged: merged, Now: theirs}
	}
	fields := merged.Changed(FactFields, theirs)
	if len(fields) == 0 {
		return others, nil
	}
	if err := j.keepFacts(ctx, tx, merged, fields, e); err != nil {
		return nil, fmt.Errorf("change job: %w", err)
	}
	return others, j.append(ctx, tx, by, "job changed", map[string]any{"fields": fields})
}

func (e Edit) check(m, theirs reconcile.Facts, now Job) faults {
	f := faults{}
	f.add("cameas", !slices.Contains(CameAs, m["cameas"]), unknownOne)
	f.add("cameas", now.StartedAt != nil && m["cameas"] != theirs["cameas"], "The bench sheet was made for how it came; that stays now.")
	f.add("oldparts", !slices.Contains(OldParts, m["oldparts"]), unknownOne)
	f.add("goesback", !slices.Contains(Goings, m["goesback"]), unknownOne)
	codes := strings.Fields(m["symptoms"])
	for _, code := range codes {
		f.add("symptoms", symptomIndex(code) < 0, "One of those is not on the list: choose again.")
	}
	f.add("symptoms", len(codes) > 1 && slices.Contains(codes, JustDue), "Either nothing is wrong or something is: clear one of the two.")
	if kg := e.RiderKG; kg != nil && m["rider"] != theirs["rider"] {
		f.add("rider", !(*kg >= leastWeightKG && *kg <= mostWeightKG), "That cannot be a rider’s weight: check the number and its unit.")
		f.add("rider", !e.RiderSure && (*kg < leastRiderKG || *kg > mostRiderKG),
			fmt.Sprintf("Really %.0f kg? Riders with kit are usually %d to %d kg: check the number and its unit, or confirm it.", *kg, leastRiderKG, mostRiderKG))
	}
	f.add("limit", e.LimitMinor != nil && *e.LimitMinor < 0, "A spending limit cannot be below zero.")
	f.long("hangs", m["hangs"], maxShort)
	f.long("rider", m["rider"], maxShort)
	f.long("riding", m["riding"], maxShort)
	f.long("complaint", m["complaint"], maxLong)
	f.long("left", m["left"], maxLong)
	return f
}

// keepFacts writes the fields that changed and leaves every other as it stands.
func (j locked) keepFacts(ctx context.Context, tx pgx.Tx, m reconcile.Facts, fields []string, e Edit) error {
	has := func(field string) bool { return slices.Contains(fields, field) }
	batch := &pgx.Batch{}
	batch.Queue(`update job set hangs_at = $2, came_as = $3, riding = $4, ebike = $5, old_parts = $6, version = version + 1 where id = $1`,
		j.id, m["hangs"], m["cameas"], m["riding"], m["ebike"] != "", m["oldparts"])
	if has("rider") {
		batch.Queue("update job set rider_kg = $2, rider_entered = $3 where id = $1", j.id, e.RiderKG, m["rider"])
	}
	if has("symptoms") {
		batch.Queue("delete from job_symptom where job_id = $1", j.id)
		batch.Queue("insert into job_symptom (job_id, symptom) select $1, unnest($2::text[])", j.id, strings.Fields(m["symptoms"]))
	}
	if slices.ContainsFunc(visitFacts, has) {
		batch.Queue("update visit set goes_back = $2, version = version + 1 where id = $1", j.visitID, m["goesback"])
	}
	if has("limit") {
		batch.Queue("update visit set limit_minor = $2 where id = $1", j.visitID, e.LimitMinor)
	}
	if has("left") {
		batch.Queue(`insert into visit_words (visit_id, left_with) values ($1, $2)
			on conflict (visit_id) do update set left_with = excluded.left_with`, j.visitID, m["left"])
	}
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return err
	}
	if has("complaint") {
		return j.setWords(ctx, tx, "complaint", m["complaint"])
	}
	return nil
}
