package job

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/fold"
	"damperdesk/internal/history"
	"damperdesk/internal/interval"
	"damperdesk/internal/link"
	"damperdesk/internal/procedure"
)

// TakeIn logs a visit with a job and a ticket number for each unit, all or
// nothing. What cannot be taken is said at once, as a fault.Invalid with a
// sentence by field: "another"; "customer", or "name", "phone", "mail" of a new one;
// "came", "goesback", "booked", "promised", "limit", "terms", "left", "units"; and for
// each unit from "unit0." on: "unit", or those of customer.CheckUnit for a new
// one; "cameas", "hangs", "rider", "riding", those of interval.Said.Check, "happened",
// "symptoms", those of AskField, "complaint", "services", "oldparts", "mechanic", "again",
// "payer", "payerwords", those of MarkField, "mark", "lefton".
func TakeIn(ctx context.Context, tx pgx.Tx, by history.By, d DropOff) (visitID int64, err error) {
	d = d.tidy()
	if d.CustomerID, err = whoNow(ctx, tx, d.CustomerID); err != nil {
		return 0, fmt.Errorf("take in: %w", err)
	}
	k, err := readKnown(ctx, tx, by, d)
	if err != nil {
		return 0, fmt.Errorf("take in: %w", err)
	}
	f := d.check(by.At, k)
	if err := checkDraft(ctx, tx, d, f); err != nil {
		return 0, fmt.Errorf("take in: %w", err)
	}
	if err := checkNewUnits(ctx, tx, d, f); err != nil {
		return 0, fmt.Errorf("take in: %w", err)
	}
	if err := f.err(); err != nil {
		return 0, err
	}
	if d.CustomerID == 0 {
		if d.CustomerID, err = customer.Add(ctx, tx, by, d.NewCustomer); err != nil {
			return 0, fmt.Errorf("take in: %w", err)
		}
	}
	if d.Address != "" {
		if err := customer.SendTo(ctx, tx, by, d.CustomerID, d.Address); err != nil {
			return 0, fmt.Errorf("take in: %w", err)
		}
	}
	if visitID, err = insertVisit(ctx, tx, by, d); err != nil {
		return 0, fmt.Errorf("take in: %w", err)
	}
	for _, u := range d.Units {
		u.Said = u.said(k)
		if err := takeInUnit(ctx, tx, by, d, visitID, u, u.comebackOf(k)); err != nil {
			return 0, fmt.Errorf("take in: %w", err)
		}
	}
	if d.BookedFor != nil {
		return visitID, nil
	}
	return visitID, tellReceived(ctx, tx, by, visitID, "")
}

// whoNow is who a customer is that may have been merged since they were chosen;
// somebody who is not here stays for check to refuse.
func whoNow(ctx context.Context, tx pgx.Tx, id int64) (int64, error) {
	if id == 0 {
		return 0, nil
	}
	now, err := customer.Now(ctx, tx, id)
	if errors.As(err, new(fault.NotFound)) {
		return id, nil
	}
	return now, err
}

// readKnown locks the units that are named, so that of two desks taking in the
// same one the second sees the first one's ticket.
func readKnown(ctx context.Context, tx pgx.Tx, by history.By, d DropOff) (k known, err error) {
	var units, people []int64
	for _, u := range d.Units {
		units, people = append(units, u.UnitID), append(people, u.MechanicID)
	}
	if _, err := tx.Exec(ctx, "select from unit where id = any ($1) order by id for no key update", units); err != nil {
		return k, db.Translate(err)
	}
	k.units = map[int64]customer.Unit{}
	for _, id := range units {
		unit, err := customer.GetUnit(ctx, tx, id)
		var missing fault.NotFound
		if errors.As(err, &missing) {
			continue
		}
		if err != nil {
			return k, err
		}
		k.units[id] = unit
	}
	if k.done, err = lastDone(ctx, tx, units, d.zone()); err != nil {
		return k, err
	}
	if k.recent, err = RecentOf(ctx, tx, units, interval.Day(by.At, d.zone()), d.zone()); err != nil {
		return k, err
	}
	if k.services, err = procedure.Services(ctx, tx); err != nil {
		return k, err
	}
	if k.springs, err = springs(ctx, tx, d); err != nil {
		return k, err
	}
	if k.mechanics, err = mechanics(ctx, tx, by, people); err != nil {
		return k, err
	}
	err = tx.QueryRow(ctx, `select exists (select from customer where id = $1), exists (select from terms where id = $2)`,
		d.CustomerID, d.TermsID).Scan(&k.customer, &k.terms)
	return k, err
}

// springs reads what spring each model of the new units has.
func springs(ctx context.Context, q db.Querier, d DropOff) (map[int64]string, error) {
	var models []int64
	for _, u := range d.Units {
		models = append(models, u.NewUnit.ModelID)
	}
	rows, err := q.Query(ctx, "select id, spring from model where id = any ($1)", models)
	type row struct {
		ID     int64
		Spring string
	}
	list, err := db.All[row](rows, err)
	byModel := map[int64]string{}
	for _, m := range list {
		byModel[m.ID] = m.Spring
	}
	return byModel, err
}

func checkNewUnits(ctx context.Context, tx pgx.Tx, d DropOff, f faults) error {
	var tags []string
	for i, u := range d.Units {
		if u.UnitID != 0 {
			continue
		}
		prefix := fmt.Sprintf("unit%d.", i)
		wrong, err := customer.CheckUnit(ctx, tx, 0, u.NewUnit)
		if err != nil {
			return err
		}
		f.all(prefix, wrong)
		tag := fold.Text(u.NewUnit.Tag)
		f.add(prefix+"tag", tag != "" && slices.Contains(tags, tag), "Two units of this visit have that tag number.")
		tags = append(tags, tag)
	}
	return nil
}

func insertVisit(ctx context.Context, tx pgx.Tx, by history.By, d DropOff) (id int64, err error) {
	err = tx.QueryRow(ctx, `insert into visit (customer_id, promised_at, booked_for, came, goes_back, limit_minor, currency, terms_id, opened_at, draft_root)
		values ($1, $2, $3, $4, $5, $6, $7, nullif($8, 0::bigint), $9, nullif($10, $11::uuid)) returning id`,
		d.CustomerID, d.PromisedAt, d.BookedFor, d.Came, d.GoesBack, d.LimitMinor, d.Currency, d.TermsID, by.At, d.Draft, uuid.Nil).Scan(&id)
	if err != nil {
		return 0, err
	}
	_, err = tx.Exec(ctx, "insert into visit_words (visit_id, terms_by, left_with) values ($1, $2, $3)", id, d.TermsBy, d.LeftWith)
	if err != nil {
		return 0, err
	}
	if _, err := keepPromise(ctx, tx, by, id, d.PromisedAt, "", d.Foreseen, d.zone()); err != nil {
		return 0, err
	}
	return id, history.Append(ctx, tx, by, history.Event{
		SubjectKind: "visit", SubjectID: id, Customer: d.CustomerID, Kind: "visit opened",
		Detail: map[string]any{"units": len(d.Units), "terms": d.TermsID}})
}

func takeInUnit(ctx context.Context, tx pgx.Tx, by history.By, d DropOff, visitID int64, u DropOffUnit, again *int64) error {
	var err error
	if u.UnitID == 0 {
		if u.UnitID, err = customer.AddUnit(ctx, tx, by, d.CustomerID, u.NewUnit); err != nil {
			return err
		}
	}
	stage := arrivedBy(d.Came)
	if d.BookedFor != nil {
		stage = Booked
	}
	j := locked{visitID: visitID, unitID: u.UnitID, customerID: d.CustomerID, stage: stage}
	var number int
	err = tx.QueryRow(ctx, `insert into job (visit_id, unit_id, stage, mechanic_id, came_as, hangs_at, rider_kg, rider_entered,
			riding, ebike, old_parts, opened_at, comeback_of, payer)
		values ($1, $2, $3, nullif($4, 0::bigint), $5, $6, $7, $8, $9, $10, $11, $12, $13, $14) returning id, number`,
		visitID, u.UnitID, stage, u.MechanicID, u.CameAs, u.HangsAt, u.RiderKG, u.RiderEntered,
		u.Riding, u.EBike, u.OldParts, by.At, again, u.Payer).Scan(&j.id, &number)
	if err != nil {
		return db.Translate(err)
	}
	batch := &pgx.Batch{}
	batch.Queue(`with words as (insert into job_words (job_id, complaint, payer_words, left_on) values ($1, $2, $5, $6)),
			symptoms as (insert into job_symptom (job_id, symptom) select $1, unnest($3::text[]))
		insert into job_service (job_id, service_code, origin) select $1, unnest($4::text[]), 'drop-off'`,
		j.id, u.Complaint, u.Symptoms, u.Services, u.PayerWords, u.LeftOn)
	keepAnswers(batch, j.id, u.Answers)
	keepMarks(batch, by, j.id, filled(u.Marks))
	j.record(batch, by, stage, "")
	if err := tx.SendBatch(ctx, batch).Close(); err != nil {
		return err
	}
	if !u.Said.Nothing() {
		if err := interval.Say(ctx, tx, by, u.UnitID, u.Said, interval.Day(by.At, d.zone())); err != nil {
			return err
		}
	}
	for _, kind := range u.Happened {
		today := interval.Day(by.At, d.zone())
		if err := interval.Happen(ctx, tx, by, u.UnitID, interval.JustNow(kind, today), interval.AtDesk, today); err != nil {
			return err
		}
	}
	if again != nil {
		if err := PinJob(ctx, tx, by, Pin{JobID: j.id, Kind: NextUp, Reason: "comeback"}); err != nil {
			return err
		}
	}
	err = j.append(ctx, tx, by, "job opened", map[string]any{"ticket": number, "stage": stage,
		"services": u.Services, "symptoms": u.Symptoms, "comeback of": again, "payer": u.Payer})
	if err != nil {
		return err
	}
	if err := j.setPartsAside(ctx, tx, by); err != nil || stage == Booked {
		return err
	}
	return link.Lengthen(ctx, tx, by, j.unitID)
}
