package stock

import (
	"context"
	"errors"
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

// WasteKind is what is kept apart for the carrier: common practice (no source), as
// oil, solvent and soaked rags are taken under papers of their own.
type WasteKind string

// The kinds of waste.
const (
	UsedOil     WasteKind = "used oil"
	UsedFluid   WasteKind = "used damper fluid"
	UsedSolvent WasteKind = "used solvent"
	SoakedRags  WasteKind = "rags and filters"
	Cans        WasteKind = "spray cans and tins"
)

// WasteKinds in the order they are offered.
var WasteKinds = []WasteKind{UsedOil, UsedFluid, UsedSolvent, SoakedRags, Cans}

// Measure is what a kind is given in: millilitres for what is poured, else grams.
func (k WasteKind) Measure() Measure {
	if k == SoakedRags || k == Cans {
		return Mass
	}
	return Volume
}

// WasteEntry is something that went into a container.
type WasteEntry struct {
	ID         int64
	Kind       WasteKind
	Amount     int64  // below zero: the opposite of a wrong one
	Container  string // the drum or can it went into
	JobID      int64  // 0: of no job
	JobNumber  int
	Reverses   int64
	ReversedBy int64
	Reason     string
	Actor      string
	At         time.Time
}

// Standing reports whether it can be taken back.
func (e WasteEntry) Standing() bool { return e.Reverses == 0 && e.ReversedBy == 0 }

const selectWaste = `select w.id, w.kind, w.amount, w.container, coalesce(w.job_id, 0) as job_id, coalesce(j.number, 0) as job_number,
		coalesce(w.reverses, 0) as reverses, coalesce(r.id, 0) as reversed_by, w.reason, coalesce(s.name, '') as actor, w.at
	from waste w left join waste r on r.reverses = w.id left join job j on j.id = w.job_id left join staff s on s.id = w.actor_id`

// WasteBetween lists what was logged in a span, the latest first, at most that many.
func WasteBetween(ctx context.Context, q db.Querier, from, to time.Time, most int) ([]WasteEntry, error) {
	rows, err := q.Query(ctx, selectWaste+" where w.at >= $1 and w.at < $2 order by w.id desc limit $3", from, to, most)
	list, err := db.All[WasteEntry](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read the waste log: %w", err)
	}
	return list, nil
}

// Pickup is what a carrier took away of one kind.
type Pickup struct {
	ID         int64
	Kind       WasteKind
	Amount     int64
	Carrier    string
	Document   string // the number of the carrier's paper
	TakenOn    time.Time
	Reverses   int64
	ReversedBy int64
	Reason     string
	Actor      string
	At         time.Time
}

// Standing reports whether it can be taken back.
func (p Pickup) Standing() bool { return p.Reverses == 0 && p.ReversedBy == 0 }

const selectPickup = `select p.id, p.kind, p.amount, p.carrier, p.document, p.taken_on, coalesce(p.reverses, 0) as reverses,
		coalesce(r.id, 0) as reversed_by, p.reason, coalesce(s.name, '') as actor, p.at
	from waste_pickup p left join waste_pickup r on r.reverses = p.id left join staff s on s.id = p.actor_id`

// PickupsBetween lists what was taken away from one day to another, both included,
// the latest first.
func PickupsBetween(ctx context.Context, q db.Querier, from, to time.Time) ([]Pickup, error) {
	rows, err := q.Query(ctx, selectPickup+" where p.taken_on between $1 and $2 order by p.taken_on desc, p.id desc",
		from.Format(time.DateOnly), to.Format(time.DateOnly))
	list, err := db.All[Pickup](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what was taken away: %w", err)
	}
	return list, nil
}

// StandingWaste is how much of a kind stands in the shop.
type StandingWaste struct {
	Kind       WasteKind
	In, Out    int64
	LastOn     *time.Time // when some was taken last; nil: never
	Containers []string   // that it went into since
}

// Left is what stands here; below zero more was taken than was logged.
func (s StandingWaste) Left() int64 { return s.In - s.Out }

// WasteStanding says of every kind what stands in the shop, before a moment and
// with what was taken away on days before day.
func WasteStanding(ctx context.Context, q db.Querier, before time.Time, day time.Time) ([]StandingWaste, error) {
	rows, err := q.Query(ctx, `select k.kind, coalesce(i.amount, 0)::bigint as "in", coalesce(o.amount, 0)::bigint as out, o.last_on,
			array(select distinct container from waste w where w.kind = k.kind and container <> '' and w.at < $2 and w.reverses is null
				and not exists (select from waste r where r.reverses = w.id)
				and (o.last_at is null or w.at >= o.last_at) order by container) as containers
		from unnest($1::text[]) with ordinality k (kind, n)
		left join (select kind, sum(amount) as amount from waste where at < $2 group by kind) i on i.kind = k.kind
		left join (select kind, sum(amount) as amount, max(taken_on) filter (where amount > 0) as last_on, max(at) filter (where amount > 0) as last_at
			from waste_pickup where taken_on < $3 group by kind) o on o.kind = k.kind
		order by k.n`, WasteKinds, before, day.Format(time.DateOnly))
	list, err := db.All[StandingWaste](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what waste stands here: %w", err)
	}
	return list, nil
}

// NewWaste is an entry as it is typed.
type NewWaste struct {
	Kind      WasteKind
	Amount    int64
	Container string
	Job       int64 // 0: of no job
}

// LogWaste keeps what went into a container.
func LogWaste(ctx context.Context, tx pgx.Tx, by history.By, n NewWaste) error {
	n.Container = strings.TrimSpace(n.Container)
	if err := mayWrite(by, n.check); err != nil {
		return err
	}
	var id int64
	err := tx.QueryRow(ctx, `insert into waste (kind, amount, container, job_id, actor_id, intent_id, at)
		values ($1, $2, $3, nullif($4, 0::bigint), nullif($5, 0::bigint), $6, $7) returning id`,
		n.Kind, n.Amount, n.Container, n.Job, by.Staff, by.Intent, by.At).Scan(&id)
	if err != nil {
		return fmt.Errorf("log waste: %w", db.Translate(err))
	}
	return wasteEvent(ctx, tx, by, "waste", id, "waste logged", n.Job, n.Amount)
}

func wasteEvent(ctx context.Context, tx pgx.Tx, by history.By, subject string, id int64, kind string, job, amount int64) error {
	return history.Append(ctx, tx, by, history.Event{SubjectKind: subject, SubjectID: id, Job: job, Kind: kind, Detail: map[string]any{"amount": amount}})
}

func (n NewWaste) check() error {
	wrong := map[string]string{}
	checkKind(n.Kind, n.Amount, wrong)
	if utf8.RuneCountInString(n.Container) > mostName {
		wrong["container"] = fmt.Sprintf("At most %d characters fit here.", mostName)
	}
	return invalid(wrong)
}

func checkKind(kind WasteKind, amount int64, wrong map[string]string) {
	if !slices.Contains(WasteKinds, kind) {
		wrong["kind"] = "Choose what it is."
	}
	if amount <= 0 || amount > mostAmount {
		wrong["amount"] = "Give an amount above zero."
	}
}

func invalid(wrong map[string]string) error {
	if len(wrong) == 0 {
		return nil
	}
	return &fault.Invalid{Fields: wrong}
}

// NewPickup is what a carrier takes, by one document.
type NewPickup struct {
	Carrier  string
	Document string
	TakenOn  time.Time // a day, at midnight UTC
	Amounts  map[WasteKind]int64
}

// TakeWaste keeps that a carrier took waste away. Today is the shop's.
func TakeWaste(ctx context.Context, tx pgx.Tx, by history.By, n NewPickup, today time.Time) error {
	n.Carrier, n.Document = strings.TrimSpace(n.Carrier), strings.TrimSpace(n.Document)
	if err := mayWrite(by, func() error { return n.check(today) }); err != nil {
		return err
	}
	for _, kind := range WasteKinds {
		amount := n.Amounts[kind]
		if amount == 0 {
			continue
		}
		var id int64
		err := tx.QueryRow(ctx, `insert into waste_pickup (kind, amount, carrier, document, taken_on, actor_id, intent_id, at)
			values ($1, $2, $3, $4, $5, nullif($6, 0::bigint), $7, $8) returning id`,
			kind, amount, n.Carrier, n.Document, n.TakenOn, by.Staff, by.Intent, by.At).Scan(&id)
		if err != nil {
			return fmt.Errorf("keep what was taken away: %w", db.Translate(err))
		}
		if err := wasteEvent(ctx, tx, by, "waste pickup", id, "waste taken away", 0, amount); err != nil {
			return err
		}
	}
	return nil
}

func (n NewPickup) check(today time.Time) error {
	wrong := map[string]string{}
	for name, text := range map[string]string{"carrier": n.Carrier, "document": n.Document} {
		if utf8.RuneCountInString(text) > mostName {
			wrong[name] = fmt.Sprintf("At most %d characters fit here.", mostName)
		}
	}
	if n.Carrier == "" {
		wrong["carrier"] = "Say who took it."
	}
	if n.Document == "" {
		wrong["document"] = "Give the number of the carrier’s paper."
	}
	switch {
	case n.TakenOn.IsZero():
		wrong["taken_on"] = "Say on which day it was taken, such as 2026-03-14."
	case n.TakenOn.Format(time.DateOnly) > today.Format(time.DateOnly):
		wrong["taken_on"] = "That day is still to come."
	}
	sum := int64(0)
	for _, amount := range n.Amounts {
		sum += amount
		if amount < 0 || amount > mostAmount {
			wrong["amounts"] = "Those amounts cannot be."
		}
	}
	if sum == 0 && wrong["amounts"] == "" {
		wrong["amounts"] = "Say how much of something was taken."
	}
	return invalid(wrong)
}

// TakeBackWaste answers a wrong entry with its opposite.
func TakeBackWaste(ctx context.Context, tx pgx.Tx, by history.By, id int64, reason string) error {
	return takeBackRow(ctx, tx, by, "waste", "There is no such entry.", `insert into waste (kind, amount, container, job_id, reverses, reason, actor_id, intent_id, at)
		select kind, -amount, container, job_id, id, $2, nullif($3, 0::bigint), $4, $5 from waste where id = $1 and reverses is null returning id`, id, reason)
}

// TakeBackPickup answers what was wrongly said to be taken away with its opposite.
func TakeBackPickup(ctx context.Context, tx pgx.Tx, by history.By, id int64, reason string) error {
	return takeBackRow(ctx, tx, by, "waste pickup", "There is no such pickup.", `insert into waste_pickup (kind, amount, carrier, document, taken_on, reverses, reason, actor_id, intent_id, at)
		select kind, -amount, carrier, document, taken_on, id, $2, nullif($3, 0::bigint), $4, $5 from waste_pickup where id = $1 and reverses is null returning id`, id, reason)
}

func takeBackRow(ctx context.Context, tx pgx.Tx, by history.By, subject, none, sql string, id int64, reason string) error {
	reason = strings.TrimSpace(reason)
	if err := mayWrite(by, nil); err != nil {
		return err
	}
	switch {
	case reason == "":
		return errReason
	case utf8.RuneCountInString(reason) > mostWords:
		return fault.Field("reason", fmt.Sprintf("Write at most %d characters.", mostWords))
	}
	var opposite int64
	err := tx.QueryRow(ctx, sql, id, reason, by.Staff, by.Intent, by.At).Scan(&opposite)
	if errors.Is(err, pgx.ErrNoRows) {
		return fault.NotFound(none)
	}
	if err != nil {
		return fmt.Errorf("take back %s %d: %w", subject, id, db.Translate(err))
	}
	return wasteEvent(ctx, tx, by, subject, opposite, subject+" taken back", 0, id)
}

// Drained is what was signed on a bench sheet as drained, of a job on a day.
type Drained struct {
	JobID     int64
	JobNumber int
	Unit      string
	Kind      WasteKind
	Amount    int64
	Day       time.Time // the shop's
}

// DrainedSince lists what stands on bench sheets as drained since a moment, with its
// volume, of jobs that nothing of the kind is logged for. From the lowers comes oil
// (steps S9), from the damper its fluid (D1.3, D2.3).
func DrainedSince(ctx context.Context, q db.Querier, since time.Time, zone *time.Location) ([]Drained, error) {
	rows, err := q.Query(ctx, `select j.id as job_id, j.number as job_number, coalesce(m.maker || ' ' || m.name, u.model_words) as unit, d.kind,
			round(sum(d.si) * 1e9)::bigint as amount, d.day
		from (select s.job_id, (o.at at time zone $2)::date as day, o.value_si as si,
				case when s.key like 'S9%' then 'used oil' else 'used damper fluid' end as kind
			from signoff o join sheet_step s on s.id = o.step_id
			where o.at >= $1 and o.role = 'done' and o.outcome = 'done' and o.value_si > 0 and (s.key like 'S9%' or s.key in ('D1.3', 'D2.3'))
				and not exists (select from cross_out x where x.signoff_id = o.id)) d
		join job j on j.id = d.job_id join unit u on u.id = j.unit_id left join model m on m.id = u.model_id
		where not exists (select from waste w where w.job_id = d.job_id and w.kind = d.kind and w.reverses is null
			and not exists (select from waste r where r.reverses = w.id))
		group by j.id, j.number, 3, d.kind, d.day order by d.day desc, j.number, d.kind limit 50`, since, zone.String())
	list, err := db.All[Drained](rows, err)
	if err != nil {
		return nil, fmt.Errorf("read what was drained: %w", err)
	}
	return list, nil
}
