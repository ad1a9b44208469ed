package check_test

import (
	"context"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/check"
	"damperdesk/internal/db/dbtest"
	"damperdesk/internal/history"
)

// soundSQL is a job that is ready for pickup in every respect: a stop-here, a
// torque, a step with a second check and a pressure put back. $1 is the person,
// $2 the act, $3 the time.
const soundSQL = `
	with c as (insert into customer (name, name_key) values ('Odette Marsh', 'odette marsh') returning id),
	u as (insert into unit (kind, customer_id, model_words) select 'fork', id, 'Tindra Lode' from c returning id),
	v as (insert into visit (customer_id, promised_at, came, goes_back, currency, opened_at)
		select id, $3, 'counter', 'pickup', 'GBP', $3 from c returning id),
	l as (insert into link (token_hash, visit_id, made_at, expires_at) select sha256(id::text::bytea), id, $3, $3 + interval '1 year' from v),
	j as (insert into job (visit_id, unit_id, stage, opened_at, ready_at) select v.id, u.id, 'ready for pickup', $3, $3 from v, u returning id),
	g as (insert into stage_change (job_id, seq, stage, intent_id, at) select id, 1, 'ready for pickup', $2, $3 from j),
	s as (insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, quantity, nominal_si, minus_si, plus_si,
			source, stop_here, second_check, intent_id, at)
		select j.id, x.seq, x.block, 'Block', x.key, x.kind, 'Step', 'Do it', '', x.nominal, x.tol, x.tol, x.source, x.stop, x.second, $2, $3
		from j, (values (1, 'A', 'A1', 'check', null::float8, 0, '', true, false), (2, 'W', 'W1', 'torque', 7.0, 0.5, 'manual', false, false),
			(3, 'W', 'W2', 'check', null, 0, '', false, true), (4, 'V', 'V2', 'reading', null, 0, '', false, false))
			as x (seq, block, key, kind, nominal, tol, source, stop, second) returning id, second_check),
	d as (insert into signoff (step_id, role, how, actor_id, intent_id, at) select id, 'done', 'seen', $1, $2, $3 from s returning id, step_id),
	k as (insert into signoff (step_id, role, how, reason, actor_id, of_id, of_actor_id, alone, intent_id, at)
		select s.id, 'checked', 'seen', 'nobody else is here', $1, d.id, $1, true, $2, $3 from s join d on d.step_id = s.id where s.second_check)
	select id from j`

// In what breaks a rule $1 is the job, $2 the person, $3 the act and $4 the time.
const (
	moreSteps = `with s as (insert into sheet_step (job_id, rank, block, block_title, key, kind, title, text, may_be_unknown, stop_here,
		second_check, intent_id, at) `
	signDone = ` insert into signoff (step_id, role, outcome, how, value_si, reason, together, actor_id, intent_id, at) `
)

// billed is a line of 60.00 and a tax of 20 % on it; paid is 30.00 paid ahead.
const (
	billed = `with t as (insert into tax_rate (code, version, name, bp, intent_id, at) values ('A', 1, 'tax', 2000, $3, $4) returning id),
		l as (insert into bill_line (visit_id, payer, kind, words, qty_milli, unit_minor, currency, tax_id, tax_included, actor_id, intent_id, at)
			select j.visit_id, 'customer', 'part', 'wipers', 2000, 3000, 'GBP', t.id, false, $2, $3, $4 from job j, t where j.id = $1 returning *)`
	paid = `with p as (insert into payment (visit_id, kind, minor, currency, owed_minor, actor_id, intent_id, at)
		select visit_id, 'cash', 3000, 'GBP', 0, $2, $3, $4 from job where id = $1 returning *)`
)

// mergedAway is somebody merged into the customer of the job.
const mergedAway = `insert into customer (name, name_key, merged_into)
	select 'Odette Ellery', 'odette ellery', v.customer_id from visit v join job j on j.visit_id = v.id where j.id = $1`

const afterStop = "bench is true: nothing is live after an unsigned stop-here, unless a service added since asks for that"

var breaks = []struct{ rule, sql string }{
	{"bench is true: what is called inside the window is inside it", `with x as (insert into cross_out (signoff_id, step_id, role, reason, intent_id, at)
			select o.id, o.step_id, 'done', 'wrong', $3, $4 from signoff o join sheet_step t on t.id = o.step_id where t.job_id = $1 and t.key = 'W1'
			returning id, step_id)
		insert into signoff (step_id, role, how, value_si, replaces, actor_id, intent_id, at) select step_id, 'done', 'measured', 9, id, $2, $3, $4 from x`},
	{"bench is true: torque and volume have a source", moreSteps + `select $1, 5, 'V', 'Block', 'W9', 'torque', 'Step', 'Do it', false, false, false, $3, $4 returning id)` +
		signDone + `select id, 'done', 'done', 'set', 7, '', null, $2, $3, $4 from s`},
	{"bench is true: what guards people or parts applies, unless a fact was not known", moreSteps + `select $1, 5, 'V', 'Block', 'V5', 'check', 'Step', 'Do it', false, true, false, $3, $4 returning id)` +
		signDone + `select id, 'done', 'does not apply', 'seen', null, 'so', null, $2, $3, $4 from s`},
	{afterStop, `insert into cross_out (signoff_id, step_id, role, reason, intent_id, at)
		select o.id, o.step_id, 'done', 'wrong', $3, $4 from signoff o join sheet_step t on t.id = o.step_id where t.job_id = $1 and t.key = 'A1' and $2::bigint > 0`},
	{"bench is true: at most six signed together, simple lines of one block", moreSteps + `select $1, 4 + n, 'V', 'Block', 'V1' || n, 'check', 'Step', 'Do it', false, false, false, $3, $4 from generate_series(1, 7) n returning id)` +
		signDone + `select id, 'done', 'done', 'seen', null, '', $3, $2, $3, $4 from s`},
	{"bench is true: no second check from before what was not to be ridden was put right", `with f as (insert into finding (job_id, step_id, grade, cause, words, actor_id, intent_id, at)
			select $1, id, 'do not ride', 'found so', 'loose', $2, $3, $4 from sheet_step where job_id = $1 and key = 'W2' returning id)
		insert into finding_answer (finding_id, kind, words, actor_id, intent_id, at) select id, 'put right', 'torqued', $2, $3, $4 from f`},
	{"customers are one: whoever is merged has no unit or bike", `with c as (` + mergedAway + ` returning id)
		insert into unit (kind, customer_id, model_words) select 'fork', id, 'Tindra Lode' from c where $2::bigint > 0 and $3::uuid is not null and $4::timestamptz is not null`},
	{"customers are one: they are merged as the merges that stand say", mergedAway + ` and $2::bigint > 0 and $3::uuid is not null and $4::timestamptz is not null`},
	{"state equals facts: the stage is the last stage change", `insert into stage_change (job_id, seq, stage, actor_id, intent_id, at) values ($1, 2, 'final check', $2, $3, $4)`},
	{"state equals facts: what a visit promises is what was promised last", `insert into promise (visit_id, promised_at, how, actor_id, intent_id, at)
		select visit_id, $4::timestamptz + interval '1 day', 'by hand', $2, $3, $4 from job where id = $1`},
	{"state equals facts: ready means every step is live", moreSteps + `select $1, 5, 'V', 'Block', 'V5', 'check', 'Step', 'Do it', false, false, true, $3, $4 returning id)` +
		signDone + `select id, 'done', 'done', 'seen', null, '', null, $2, $3, $4 from s`},
	{"state equals facts: ready means the settings are returned", moreSteps + `select $1, 5, 'V', 'Block', 'V3.rebound', 'count', 'Step', 'Do it', true, false, false, $3, $4 returning id)` +
		signDone + `select id, 'done', 'unknown', 'seen', null, '', null, $2, $3, $4 from s`},
	{"state equals facts: ready means no open hold", `insert into hold (job_id, kind, actor_id, intent_id, at) values ($1, 'sent out', $2, $3, $4)`},
	{"state equals facts: ready means the customer has a link", `update link set revoked_at = $4 where visit_id = (select visit_id from job where id = $1) and $2::bigint > 0 and $3::uuid is not null`},
	{"state equals facts: who left was handed over", `insert into hand_over (job_id, how, actor_id, intent_id, at) values ($1, 'picked up', $2, $3, $4)`},
	{"bills add up: what was owed at a payment is lines with tax less payments", billed + `
		insert into payment (visit_id, kind, minor, currency, owed_minor, actor_id, intent_id, at) select visit_id, 'cash', 6000, currency, 7199, $2, $3, $4 from l`},
	{"bills add up: a line taken back is answered by its exact opposite", billed + `
		insert into bill_line (visit_id, payer, kind, words, qty_milli, unit_minor, currency, tax_id, tax_included, reverses, reason, intent_id, at)
		select visit_id, payer, kind, words, -qty_milli, unit_minor - 1, currency, tax_id, tax_included, id, 'wrong', $3, $4 from l`},
	{"bills add up: a payment taken back is answered by its exact opposite", paid + `
		insert into payment (visit_id, kind, minor, currency, owed_minor, reverses, reason, intent_id, at)
		select visit_id, kind, -minor + 1, currency, -minor, id, 'wrong', $3, $4 from p`},
	{"bills add up: one currency a visit", paid + `
		insert into payment (visit_id, kind, minor, currency, owed_minor, intent_id, at) select visit_id, kind, 5, 'EUR', -minor, $3, $4 from p`},
	{"bills add up: a service of a job is billed once", `with s as (insert into service (code, name, blocks, seq) values ('x', 'X', '{}', 1) returning code), ` + strings.TrimPrefix(billed, "with ") + `
		insert into bill_line (visit_id, job_id, payer, kind, service_code, words, qty_milli, unit_minor, currency, tax_id, tax_included, intent_id, at)
		select visit_id, $1, payer, 'service', s.code, words, qty_milli, unit_minor, currency, tax_id, tax_included, $3, $4 from l, s, generate_series(1, 2)`},
	{"every act has its cause: an intent has an answer", `insert into intent (id, kind, actor_id, fingerprint, at)
		select gen_random_uuid(), 'test', $2, '', $4 where $1::bigint > 0 and $3::uuid is not null`},
	{"every act has its cause: an append-only row has an event of its intent", `with i as (insert into intent (id, kind, fingerprint, answer, at) values (gen_random_uuid(), 'test', '', '/', $4) returning id)
		insert into terms (words, intent_id, at) select 'Ours.', id, $4 from i where $1::bigint > 0 and $2::bigint > 0 and $3::uuid is not null`},
}

func broken(t *testing.T, tx pgx.Tx) []string {
	t.Helper()
	found, err := check.Run(context.Background(), tx)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range found {
		if !strings.HasPrefix(f.Name, "chained") { // events are sealed at commit
			names = append(names, f.Name)
		}
	}
	return names
}

func TestEachBrokenRuleIsFound(t *testing.T) {
	ctx := context.Background()
	for _, c := range breaks {
		t.Run(c.rule, func(t *testing.T) {
			tx := dbtest.Tx(t)
			by := dbtest.By(t, tx, "mechanic")
			var job int64
			if err := tx.QueryRow(ctx, soundSQL, by.Staff, by.Intent, by.At).Scan(&job); err != nil {
				t.Fatal(err)
			}
			if err := history.Append(ctx, tx, by, history.Event{SubjectKind: "job", SubjectID: job, Job: job, Kind: "test"}); err != nil {
				t.Fatal(err)
			}
			if names := broken(t, tx); names != nil {
				t.Fatalf("a sound job breaks %q", names)
			}
			if _, err := tx.Exec(ctx, c.sql, job, by.Staff, by.Intent, by.At); err != nil {
				t.Fatal(err)
			}
			if names := broken(t, tx); !slices.Contains(names, c.rule) {
				t.Errorf("broken are %q, want %q among them", names, c.rule)
			}
		})
	}
}

func TestEveryAppendOnlyTableHasItsCauseChecked(t *testing.T) {
	tx := dbtest.Tx(t)
	rows, err := tx.Query(context.Background(), `select c.relname from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attname = 'intent_id'
		where c.relkind = 'r' and obj_description(c.oid, 'pg_class') like '%, append-only:%' and c.relname <> 'event'`)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil || len(tables) == 0 {
		t.Fatalf("tables %q, %v", tables, err)
	}
	last := check.Invariants[len(check.Invariants)-1].SQL
	for _, table := range tables {
		if !regexp.MustCompile(`from ` + table + `\b`).MatchString(last) {
			t.Errorf("no invariant asks for the cause of the rows of %s", table)
		}
	}
}
