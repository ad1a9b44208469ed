package erase_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"damperdesk/internal/customer"
	"damperdesk/internal/history"
	"damperdesk/internal/job"
	"damperdesk/internal/link"
)

// planted are rows of which the invented shop has none of that customer. In each,
// @ is who and when, and $1 a job of theirs.
var planted = []string{
	"insert into handed_on (job_id, to_id, words, @) select $1, (select min(id) from staff), 'ring', # ",
	"insert into hold (job_id, kind, tray, @) select $1, 'waiting on parts', 'tray 4', #",
	"insert into hold_end (hold_id, @) select max(id), # from hold",
	"insert into pin (job_id, kind, reason, @) select $1, 'next up', 'race', #",
	"insert into job_mark (job_id, place, words, @) select $1, 'crown', 'nick', #",
	"insert into job_answer (job_id, symptom, question, words) select $1, 'knock', 'when', 'always'",
	"insert into service_taken_off (job_id, service_code, reason, @) select $1, (select min(code) from service), 'dear', #",
	"insert into finding (job_id, grade, cause, words, @) select $1, 'do not ride', 'found so', 'crack', #",
	"insert into finding_told (finding_id, told, @) select max(id), 'them', # from finding",
	"insert into finding_answer (finding_id, words, kind, @) select max(id), 'put right', 'put right', # from finding",
	"insert into proposal (finding_id, job_id, words, minor, currency, total_minor, ahead, @) select max(id), $1, 'new crown', 100, 'EUR', 100, false, # from finding",
	"insert into proposal_answer (proposal_id, yes, how, who, @) select max(id), true, 'by phone', 'them', # from proposal",
	"insert into proposal_call (proposal_id, who, words, intent_id, at) select max(id), 'them', 'after six', (select max(intent_id::text) from event)::uuid, now() from proposal",
	"insert into proposal_reminder (proposal_id, how, who, @) select max(id), 'by phone', 'them', # from proposal",
	"insert into tool_allowed (step_id, tool_id, reason, @) select min(s.id), (select min(id) from tool), 'none else', # from sheet_step s where job_id = $1",
	"insert into unit_inside (unit_id, replaces, notes, @) select unit_id, (select max(id) from unit_inside i where i.unit_id = job.unit_id), 'as found', # from job where id = $1",
	"insert into unit_value (unit_id, key, nominal_si, shown_unit, entered, fluid, source_kind, source_words, @) select unit_id, 'foot bolt', 7, 'N·m', '7', 'x', 'judgement', 'felt', # from job where id = $1",
	"insert into waste (kind, amount, container, job_id, @) select 'used oil', 5, 'can 2', $1, #",
	"insert into waste (kind, amount, container, job_id, reverses, reason, @) select kind, -amount, 'can 2', job_id, id, 'wrong', # from waste where job_id = $1",
	"insert into estimate (visit_id, currency, total_minor, tax_minor, tax_included, @) select visit_id, 'EUR', 0, 0, true, # from job where id = $1 on conflict do nothing",
	"insert into estimate_share (estimate_id, payer, payer_words, total_minor, tax_minor, intent_id) select max(e.id), 'warranty', 'claim 7', 0, 0, (select max(intent_id::text) from event)::uuid from estimate e join job j on j.visit_id = e.visit_id where j.id = $1",
	"insert into estimate_line (estimate_id, job_id, service_code, words, payer, payer_words, intent_id) select max(e.id), $1, (select min(code) from service), 'x', 'warranty', 'claim 7', (select max(intent_id::text) from event)::uuid from estimate e join job j on j.visit_id = e.visit_id where j.id = $1",
	"insert into bill_line (visit_id, payer, payer_words, kind, words, qty_milli, unit_minor, currency, tax_id, tax_included, tax_by_line, discount_minor, discount_reason, @) select visit_id, 'warranty', 'claim 7', 'other', 'crown', 1000, 900, (select currency from visit where id = job.visit_id), (select min(id) from tax_rate), true, coalesce((select bool_or(tax_by_line) from bill_line l where l.visit_id = job.visit_id), false), 100, 'a friend', # from job where id = $1",
	"insert into bill_line (visit_id, payer, payer_words, kind, words, qty_milli, unit_minor, currency, tax_id, tax_included, tax_by_line, discount_minor, discount_reason, reverses, reason, @) select visit_id, payer, payer_words, kind, words, -1000, 900, currency, tax_id, true, tax_by_line, -100, 'a friend', id, 'wrong', # from bill_line where id = (select max(id) from bill_line)",
	"insert into payment (visit_id, kind, words, minor, currency, owed_minor, payer, payer_words, @) select visit_id, 'card', 'paid', 100, currency, 0, 'warranty', 'claim 7', # from bill_line where id = (select max(id) from bill_line)",
	"insert into payment (visit_id, kind, words, minor, currency, owed_minor, payer, payer_words, reverses, reason, @) select visit_id, kind, words, -100, currency, -100, payer, payer_words, id, 'wrong', # from payment where id = (select max(id) from payment)",
	"insert into purchase_line (purchase_id, item_id, job_id, qty, pack) select max(p.id), (select min(id) from item), $1, 1, 1 from purchase p where sent_at is null",
	"update purchase set note = 'for the crown' where id in (select purchase_id from purchase_line where job_id = $1)",
	"insert into purchase_short (line_id, kind, words, cancelled, @) select max(id), 'broken', 'bent', 0, # from purchase_line where job_id = $1",
	"insert into message (cause, kind, customer_id, visit_id, state, why, mail, subject, body, not_before, handed_over_at, @) select 'planted doubtful', 'ready', v.customer_id, v.id, 'doubtful', 'no reply after its end', 'them', 'Ready', 'Come', now(), now(), # from job j join visit v on v.id = j.visit_id where j.id = $1",
	"insert into message (cause, kind, customer_id, visit_id, state, lease, leased_until, mail, subject, body, not_before, @) select 'planted sending', 'ready', v.customer_id, v.id, 'sending', 7, now(), 'them', 'Ready', 'Come', now(), # from job j join visit v on v.id = j.visit_id where j.id = $1",
	"insert into message (cause, kind, customer_id, visit_id, mail, not_before, @) select 'planted waiting', 'ready', v.customer_id, v.id, 'them', now(), # from job j join visit v on v.id = j.visit_id where j.id = $1",
	"insert into consent (customer_id, kind, given, how, @) select v.customer_id, 'due soon', true, 'desk', # from job j join visit v on v.id = j.visit_id where j.id = $1",
	"insert into customer_way (customer_id, days, changed_at) select v.customer_id, 'month day', now() from job j join visit v on v.id = j.visit_id where j.id = $1 on conflict do nothing",
	"insert into put_off (unit_id, kind, until, reason, @) select unit_id, 'snoozed', current_date + 3000, 'away', # from job where id = $1",
	"insert into unit_event (unit_id, kind, on_day, how, @) select unit_id, 'jet wash', '2025-03-01', 'desk', # from job where id = $1",
	"insert into hour_reading (unit_id, kind, hours, source, @) select unit_id, 'stated', 400, 'rider', # from job where id = $1",
	"insert into reading_taken_back (reading_id, unit_id, reason, @) select max(r.id), r.unit_id, 'typed for 40', # from hour_reading r join job j on j.unit_id = r.unit_id where j.id = $1 group by r.unit_id",
	"insert into elsewhere_service (unit_id, ref, day, shop, services, found, readings, settings, @) select unit_id, 'feedbeef', '2024-05-01', 'Fork Loft', '[{\"name\": \"lower leg service\"}]', '[]', '[]', '[]', # from job where id = $1",
	"insert into book_taken_back (read_in, unit_id, reason, @) select e.intent_id, e.unit_id, 'of another fork', # from elsewhere_service e join job j on j.unit_id = e.unit_id where j.id = $1 and e.ref = 'feedbeef'",
	"insert into book_file (staff_id, customer_id, name, content, at) select (select min(id) from staff), v.customer_id, 'book.json', 'of theirs', now() from job j join visit v on v.id = j.visit_id where j.id = $1",
	"insert into book_file (staff_id, name, content, at) select (select max(id) from staff), 'quibella.json', '{}', now()",
	"insert into link_view (link_id, day, count) select max(l.id), '2026-01-02', 3 from link l join job j on j.visit_id = l.visit_id where j.id = $1 having max(l.id) is not null on conflict do nothing",
	"insert into delivery (purchase_id, begun_at) select max(purchase_id), now() from purchase_line where job_id = $1",
	"insert into delivery_line (delivery_id, item_id, line_id, qty, words) select (select max(id) from delivery), item_id, id, 1, 'bent' from purchase_line where job_id = $1",
}

func plant(t *testing.T, pool *pgxpool.Pool, id int64) {
	t.Helper()
	jobID := ask[int64](t, pool, `select max(j.id) from job j join visit v on v.id = j.visit_id
		where v.customer_id = $1 and exists (select from sheet_step s where s.job_id = j.id)`, id)
	who := strings.NewReplacer("@", "actor_id, intent_id, at", "#", "(select min(id) from staff), (select max(intent_id::text) from event)::uuid, now()")
	asOwner(t, pool, func(tx pgx.Tx) error {
		for _, sql := range planted {
			sql = who.Replace(sql)
			args := []any{jobID}
			if !strings.Contains(sql, "$1") {
				args = nil
			}
			if _, err := tx.Exec(t.Context(), sql, args...); err != nil {
				return fmt.Errorf("%s: %w", sql, err)
			}
		}
		return nil
	})
}

// fillWords writes words of theirs into every column that the list blanks, past
// the triggers, as many rows as the constraints let.
func fillWords(t *testing.T, pool *pgxpool.Pool, id int64) {
	t.Helper()
	filled := map[string]int64{}
	asOwner(t, pool, func(tx pgx.Tx) error {
		rows, err := tx.Query(t.Context(), "select tab, col, named, condition, atttypid = 'jsonb'::regtype as json from erasable() join erasable_rows() using (tab) join pg_attribute on attrelid = tab::regclass and attname = col where becomes is not null and tab not in ('customer', 'picture')")
		if err != nil {
			return err
		}
		type column struct {
			Tab, Col, Condition string
			Named, JSON         bool
		}
		columns, err := pgx.CollectRows(rows, pgx.RowToStructByName[column])
		if err != nil {
			return err
		}
		const of = "(select id from customer where id = $1 or merged_into = $1)"
		whose := strings.NewReplacer("any ($1)", "any (array"+of+")", "any ($2)", "any (array(select id from visit where customer_id in "+of+"))",
			"any ($3)", "any (array(select j.id from job j join visit v on v.id = j.visit_id where v.customer_id in "+of+"))",
			"any ($4)", "any (array(select id from unit where customer_id in "+of+"))")
		for _, c := range columns {
			words := "'" + always + " ' || " + c.Col + " || ' of " + c.Tab + "." + c.Col + ".'"
			switch {
			case c.JSON:
				words = c.Col + ` || '[{"name": "for Marshwiggle of ` + c.Tab + "." + c.Col + `.", "count": 7}]'`
			case c.Named:
				words = c.Col + " || ' for Marshwiggle of " + c.Tab + "." + c.Col + ".'"
			}
			sql := fmt.Sprintf("update %s set %s = %s where %s", c.Tab, c.Col, words, whose.Replace(c.Condition))
			for _, only := range []string{"", fmt.Sprintf(" and %s::text <> ''", c.Col)} {
				err = pgx.BeginFunc(t.Context(), tx, func(tx pgx.Tx) error {
					if _, err := tx.Exec(t.Context(), "alter table "+c.Tab+" disable trigger user"); err != nil {
						return err
					}
					tag, err := tx.Exec(t.Context(), sql+only, id)
					filled[c.Tab+"."+c.Col] = tag.RowsAffected()
					if err == nil {
						_, err = tx.Exec(t.Context(), "alter table "+c.Tab+" enable trigger user")
					}
					return err
				})
				if err == nil {
					break
				}
			}
			if err != nil {
				return fmt.Errorf("%s: %w", sql, err)
			}
		}
		// "enable trigger" alone leaves out what holds for replication too.
		_, err = tx.Exec(t.Context(), `do $$ declare r record; begin
			for r in select tgrelid::regclass as t, tgname from pg_trigger where tgname in ('append_only', 'append_only_all', 'frozen') loop
				execute format('alter table %s enable always trigger %I', r.t, r.tgname); end loop; end $$`)
		return err
	})
	var none []string
	for column, n := range filled {
		if n == 0 {
			none = append(none, column)
		}
	}
	slices.Sort(none)
	t.Logf("words in %d columns; none in %v", len(filled)-len(none), none)
	if len(none) > 0 {
		t.Error("a column that is blanked has no words to blank: plant a row")
	}
}

// made is the customer that is erased: with somebody merged into them, a draft, a
// link, and words of theirs wherever words can be.
func made(t *testing.T, pool *pgxpool.Pool, dir string) (id int64) {
	t.Helper()
	id = ask[int64](t, pool, busiest, []int64{})
	other := ask[int64](t, pool, busiest, []int64{id})
	write(t, pool, func(tx pgx.Tx, by history.By) error {
		for who, d := range map[int64]customer.Details{
			id:    {Name: theirName, Phone: theirPhone, Mail: theirMail, Address: "3 Reedbank, Otterham"},
			other: {Name: otherName, Phone: "07700 900978", Mail: "fen@example.org"},
		} {
			c, err := customer.Get(t.Context(), tx, who)
			if err != nil {
				return err
			}
			if err := customer.Update(t.Context(), tx, by, who, c.Version, d); err != nil {
				return err
			}
		}
		a, err := customer.Get(t.Context(), tx, id)
		if err != nil {
			return err
		}
		b, err := customer.Get(t.Context(), tx, other)
		if err != nil {
			return err
		}
		return customer.Join(t.Context(), tx, by, customer.Merge{Into: id, From: other, IntoVersion: a.Version, FromVersion: b.Version})
	})
	write(t, pool, func(tx pgx.Tx, by history.By) error {
		visit := ask[int64](t, tx, "select max(id) from visit where customer_id = $1", id)
		if _, err := link.Make(t.Context(), tx, by, key, visit, by.At.Add(time.Hour)); err != nil {
			return err
		}
		staff := ask[int64](t, tx, "select min(id) from staff")
		for i, fields := range []url.Values{{"customer": {fmt.Sprint(other)}}, {"name": {theirName}}, {"unit0.complaint": {"ring 07700 900977"}}, {"name": {"Somebody else"}}} {
			d := job.Draft{ID: uuid.New(), About: fmt.Sprint("form ", i), Fields: fields.Encode(), ActID: uuid.New(), StaffID: staff, KeptAt: by.At, Hand: uuid.New()}
			if _, err := job.KeepDraft(t.Context(), tx, d); err != nil {
				return err
			}
		}
		return nil
	})
	plant(t, pool, id)
	fillWords(t, pool, id)
	plantPictures(t, pool, id, dir)
	return id
}

// plantPictures gives them a picture of their own, and one that somebody else has
// too, content for content.
func plantPictures(t *testing.T, pool *pgxpool.Pool, id int64, dir string) {
	t.Helper()
	sum := sha256.Sum256([]byte("a scratch"))
	sha := hex.EncodeToString(sum[:])
	if err := os.WriteFile(filepath.Join(dir, sha+".jpg"), []byte("a scratch"), 0o600); err != nil {
		t.Fatal(err)
	}
	asOwner(t, pool, func(tx pgx.Tx) error {
		_, err := tx.Exec(t.Context(), `with j as (select max(j.id) as id from job j join visit v on v.id = j.visit_id where v.customer_id = $1)
			insert into picture (job_id, sha, thumb_sha, bytes, width, height, actor_id, intent_id, at)
			select j.id, $2, $2, 9, 4, 3, (select min(id) from staff), (select max(intent_id::text) from event)::uuid, now() from j
			union all select j.id, p.sha, p.thumb_sha, p.bytes, p.width, p.height, p.actor_id, p.intent_id, p.at from j, (select * from picture order by id limit 1) p`, id, sha)
		return err
	})
}
