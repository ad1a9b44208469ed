// Package export writes what is kept of a customer into one file for them: a ZIP
// with data.json, in a format of our own, and the pictures of their units.
package export

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/jackc/pgx/v5"

	"damperdesk/internal/customer"
	"damperdesk/internal/db"
	"damperdesk/internal/fault"
	"damperdesk/internal/history"
	"damperdesk/internal/picture"
)

// Format is what data.json says that it is. A section more keeps the number; one
// that is gone or means something else raises it.
const Format = "damperdesk customer 1"

// Section is one list of data.json. Its query gives one JSON object a row, of the
// customers $1, who are the person and whoever was merged into them.
type section struct{ name, what, sql string }

const (
	visits = "(select id from visit where customer_id = any ($1))"
	jobs   = "(select j.id from job j join visit v on v.id = j.visit_id where v.customer_id = any ($1))"
	units  = "(select id from unit where customer_id = any ($1))"
	// theirs is whether the row r of a unit was written while they had it; whoever
	// had it before, or after, said the rest.
	theirs = `r.unit_id in (select id from unit where customer_id = any ($1) union select unit_id from unit_sold where from_customer = any ($1))
		and coalesce((select from_customer from unit_sold where unit_id = r.unit_id and at >= r.at order by id limit 1),
			(select customer_id from unit where id = r.unit_id)) = any ($1)`
)

// sections are in the order of the file. What a table of words gains is a section
// here.
var sections = []section{
	{"details", "who they are; the first is who they are now", `select jsonb_build_object('customer', id, 'merged_into', merged_into, 'name', name, 'phone', phone, 'mail', mail, 'address', address)
		from customer where id = any ($1) order by merged_into nulls first, id`},
	{"details_before", "how they were kept before two were found to be one", `select jsonb_build_object('into', m.into_id, 'was', w.was, 'picked', w.picked, 'at', m.at)
		from customer_merge m join customer_merge_words w on w.merge_id = m.id where m.from_id = any ($1) or m.into_id = any ($1) order by m.id`},
	{"ways", "how they read quantities, days, times and numbers; what is null is the shop's way", `select to_jsonb(w) - '{customer_id,version}'::text[] || jsonb_build_object('customer', customer_id)
		from customer_way w where customer_id = any ($1) order by customer_id`},
	{"consents", "which messages they said that they want, or want no more; the last of a kind counts", `select jsonb_build_object('customer', customer_id, 'kind', kind, 'given', given, 'how', how, 'at', at)
		from consent where customer_id = any ($1) order by id`},
	{"messages", "what they were told, or were to be, and how far it came", `select jsonb_build_object('message', id, 'kind', kind, 'visit', visit_id, 'unit', unit_id, 'service', service_code, 'again_of', again_of, 'state', state, 'why', why,
			'mail', mail, 'subject', subject, 'body', body, 'not_before', not_before, 'sent_at', sent_at, 'told_by_voice_at', told_at, 'at', at)
		from message where customer_id = any ($1) order by id`},
	{"bikes", "bikes that units come off", `select jsonb_build_object('bike', id, 'words', words, 'colour', colour, 'frame_no', frame_no) from bike where customer_id = any ($1) order by id`},
	{"units", "what they have", `select jsonb_build_object('unit', u.id, 'kind', u.kind, 'model', coalesce(m.maker || ' ' || m.name, u.model_words), 'own_words', u.model_words, 'serial', u.serial, 'tag', u.tag, 'bike', u.bike_id)
		from unit u left join model m on m.id = u.model_id where u.customer_id = any ($1) order by u.id`},
	{"units_bought_and_sold", "units that came from, or went to, another owner", `select jsonb_build_object('unit', unit_id, 'on', on_day, 'way', case when from_customer = any ($1) then 'sold' else 'bought' end)
		from unit_sold where from_customer = any ($1) or to_customer = any ($1) order by id`},
	{"inside", "how their units are inside, where it is not as the model says", `select to_jsonb(i) - '{id,replaces,actor_id,intent_id}'::text[] from unit_inside i where unit_id in ` + units + ` order by id`},
	{"values", "values for their units alone", `select to_jsonb(i) - '{id,actor_id,intent_id}'::text[] from unit_value i where unit_id in ` + units + ` order by id`},
	{"ride_hours", "what was said of the riding of their units, or read off a meter, and in what it was, while they had them; what was taken back counts for nothing", `select to_jsonb(r) - '{id,actor_id,intent_id}'::text[] || jsonb_build_object('reading', r.id, 'taken_back_at', b.at)
		from hour_reading r left join reading_taken_back b on b.reading_id = r.id where ` + theirs + ` order by r.id`},
	{"ride_hours_taken_back", "what was wrong with those of them that were taken back while they had the unit", `select to_jsonb(r) - '{reading_id,actor_id,intent_id}'::text[] || jsonb_build_object('reading', r.reading_id)
		from reading_taken_back r where ` + theirs + ` order by r.reading_id`},
	{"unit_events", "what happened to their units outside the shop, while they had them", `select to_jsonb(r) - '{id,actor_id,intent_id}'::text[] from unit_event r where ` + theirs + ` order by id`},
	{"put_off", "about which of their units nobody was to ask them, until when, and that this was over", `select to_jsonb(r) - '{id,actor_id,intent_id}'::text[] from put_off r where ` + theirs + ` order by id`},
	{"services_elsewhere", "work of other shops on their units, as service books told", `select to_jsonb(e) - '{id,actor_id,intent_id}'::text[] || jsonb_build_object('taken_back_at', b.at)
		from elsewhere_service e left join book_taken_back b on b.read_in = e.intent_id where e.unit_id in ` + units + ` order by e.day, e.id`},
	{"services_elsewhere_taken_back", "why service books were taken back that had been read in by mistake, while they had the unit", `select to_jsonb(r) - '{read_in,actor_id,intent_id}'::text[]
		from book_taken_back r where ` + theirs + ` order by r.at`},
	{"visits", "when they came, and what was said then", `select to_jsonb(v) - '{id,version,draft_root}'::text[] || jsonb_build_object('visit', v.id, 'terms', t.words, 'terms_by', w.terms_by, 'left_with', w.left_with)
		from visit v left join visit_words w on w.visit_id = v.id left join terms t on t.id = v.terms_id where v.id in ` + visits + ` order by v.id`},
	{"promises", "when work was to be ready", `select to_jsonb(p) - '{id,visit_id,actor_id,intent_id}'::text[] || jsonb_build_object('visit', visit_id) from promise p where visit_id in ` + visits + ` order by id`},
	{"jobs", "what was to be done, in their words and ours", `select to_jsonb(j) - '{id,visit_id,unit_id,mechanic_id,version}'::text[] || to_jsonb(w) || jsonb_build_object('job', j.id, 'visit', j.visit_id, 'unit', j.unit_id,
			'symptoms', array(select symptom from job_symptom where job_id = j.id), 'services', array(select s.name from job_service x join service s on s.code = x.service_code where x.job_id = j.id)) - 'job_id'
		from job j left join job_words w on w.job_id = j.id where j.id in ` + jobs + ` order by j.id`},
	{"answers_about_symptoms", "what they answered about what is wrong", `select jsonb_build_object('job', job_id, 'symptom', symptom, 'question', question, 'words', words) from job_answer where job_id in ` + jobs + ` order by job_id, symptom, question`},
	{"marks", "marks seen on a unit as it came", `select jsonb_build_object('job', job_id, 'place', place, 'words', words, 'at', at) from job_mark where job_id in ` + jobs + ` order by id`},
	{"stages", "how the jobs went", `select jsonb_build_object('job', job_id, 'stage', stage, 'reason', reason, 'at', at) from stage_change where job_id in ` + jobs + ` order by id`},
	{"waits", "what the jobs waited for", `select jsonb_build_object('job', h.job_id, 'kind', h.kind, 'tray', h.tray, 'expected_on', h.expected_on, 'at', h.at, 'ended_at', e.at)
		from hold h left join hold_end e on e.hold_id = h.id where h.job_id in ` + jobs + ` order by h.id`},
	{"notes", "what one told the next who had the job, why it was put first, and why a service was taken off", `select n.row from (
		select id, at, jsonb_build_object('job', job_id, 'handed_on', words, 'at', at) as row from handed_on where job_id in ` + jobs + `
		union all select id, at, jsonb_build_object('job', job_id, 'pinned', kind, 'reason', reason, 'at', at) from pin where job_id in ` + jobs + `
		union all select id, at, jsonb_build_object('job', job_id, 'taken_off', service_code, 'reason', reason, 'at', at) from service_taken_off where job_id in ` + jobs + `) n order by n.at, n.id`},
	{"work", "the steps that were signed, and what was measured", `select jsonb_build_object('job', s.job_id, 'step', s.title, 'outcome', o.outcome, 'role', o.role, 'how', o.how, 'entered', o.entered, 'value_si', o.value_si, 'unit', o.shown_unit, 'count', o.count,
			'grade', o.grade, 'fluid', o.fluid, 'instrument', o.instrument, 'in_window', o.in_window, 'reason', o.reason, 'crossed_out', x.reason, 'at', o.at)
		from signoff o join sheet_step s on s.id = o.step_id left join cross_out x on x.signoff_id = o.id where s.job_id in ` + jobs + ` order by o.id`},
	{"values_given", "values and tools that were allowed at the bench", `select v.row from (
		select v.id, v.at, jsonb_build_object('job', s.job_id, 'step', s.title, 'entered', v.entered, 'fluid', v.fluid, 'source', v.source, 'at', v.at) as row from step_value v join sheet_step s on s.id = v.step_id where s.job_id in ` + jobs + `
		union all select a.id, a.at, jsonb_build_object('job', s.job_id, 'step', s.title, 'tool_allowed', a.reason, 'at', a.at) from tool_allowed a join sheet_step s on s.id = a.step_id where s.job_id in ` + jobs + `) v order by v.at, v.id`},
	{"findings", "what was found, what became of it, and who was told", `select jsonb_build_object('finding', f.id, 'job', f.job_id, 'grade', f.grade, 'cause', f.cause, 'words', f.words, 'at', f.at, 'answer', a.kind, 'answer_words', a.words, 'told', t.told)
		from finding f left join finding_answer a on a.finding_id = f.id left join finding_told t on t.finding_id = f.id where f.job_id in ` + jobs + ` order by f.id`},
	{"proposals", "work that was proposed", `select jsonb_build_object('proposal', id, 'finding', finding_id, 'job', job_id, 'words', words, 'minor', minor, 'currency', currency, 'at', at) from proposal where job_id in ` + jobs + ` order by id`},
	{"answers", "what they said to it, when they asked to be rung, and when they were asked again", `select a.row from (
		select a.id, a.at, jsonb_build_object('proposal', a.proposal_id, 'yes', a.yes, 'how', a.how, 'who', a.who, 'at', a.at) as row from proposal_answer a join proposal p on p.id = a.proposal_id where p.job_id in ` + jobs + `
		union all select c.id, c.at, jsonb_build_object('proposal', c.proposal_id, 'ring', c.words, 'who', c.who, 'at', c.at) from proposal_call c join proposal p on p.id = c.proposal_id where p.job_id in ` + jobs + `
		union all select r.id, r.at, jsonb_build_object('proposal', r.proposal_id, 'reminded', r.how, 'who', r.who, 'at', r.at) from proposal_reminder r join proposal p on p.id = r.proposal_id where p.job_id in ` + jobs + `) a order by a.at, a.id`},
	{"estimates", "what it was said to come to", `select jsonb_build_object('visit', e.visit_id, 'total_minor', e.total_minor, 'tax_minor', e.tax_minor, 'currency', e.currency, 'at', e.at,
			'lines', (select jsonb_agg(jsonb_build_object('job', l.job_id, 'words', l.words, 'minor', l.minor, 'payer', l.payer, 'payer_words', l.payer_words) order by l.id) from estimate_line l where l.estimate_id = e.id),
			'shares', (select jsonb_agg(jsonb_build_object('payer', s.payer, 'payer_words', s.payer_words, 'total_minor', s.total_minor) order by s.id) from estimate_share s where s.estimate_id = e.id))
		from estimate e where e.visit_id in ` + visits + ` order by e.id`},
	{"bill_lines", "what was billed", `select to_jsonb(l) - '{id,visit_id,job_id,tax_id,actor_id,intent_id,need_id,reverses}'::text[] || jsonb_build_object('line', l.id, 'visit', l.visit_id, 'job', l.job_id, 'takes_back', l.reverses, 'tax', t.name, 'tax_bp', t.bp)
		from bill_line l join tax_rate t on t.id = l.tax_id where l.visit_id in ` + visits + ` order by l.id`},
	{"payments", "what was paid", `select to_jsonb(p) - '{id,visit_id,actor_id,intent_id,reverses}'::text[] || jsonb_build_object('payment', p.id, 'visit', p.visit_id, 'takes_back', p.reverses) from payment p where visit_id in ` + visits + ` order by id`},
	{"parts", "parts of their jobs, and how the old ones were", `select jsonb_build_object('job', n.job_id, 'part', i.name, 'used', n.used, 'choice', n.choice, 'condition', n.condition) from need n join item i on i.id = n.item_id where n.job_id in ` + jobs + ` order by n.id`},
	{"parts_moved", "parts and fluids that were used for them, and why one went back or was lost", `select m.row from (
		select m.id, m.at, jsonb_build_object('job', m.job_id, 'part', i.name, 'kind', m.kind, 'qty', m.qty, 'reason', m.reason, 'at', m.at) as row from move m join item i on i.id = m.item_id where m.job_id in ` + jobs + `
		union all select w.id, w.at, jsonb_build_object('job', w.job_id, 'waste', w.kind, 'amount', w.amount, 'container', w.container, 'reason', w.reason, 'at', w.at) from waste w where w.job_id in ` + jobs + `) m order by m.at, m.id`},
	{"parts_ordered", "parts that were ordered for them", `select jsonb_build_object('job', l.job_id, 'part', i.name, 'qty', l.qty, 'state', p.state, 'note', p.note, 'sent_at', p.sent_at,
			'states', (select jsonb_agg(jsonb_build_object('state', s.state, 'reason', s.reason, 'at', s.at) order by s.id) from purchase_state s where s.purchase_id = p.id),
			'short', (select jsonb_agg(jsonb_build_object('kind', s.kind, 'words', s.words) order by s.id) from purchase_short s where s.line_id = l.id),
			'came', (select jsonb_agg(jsonb_build_object('batch', d.batch, 'words', d.words) order by d.id) from delivery_line d where d.line_id = l.id))
		from purchase_line l join purchase p on p.id = l.purchase_id join item i on i.id = l.item_id where l.job_id in ` + jobs + ` order by l.id`},
	{"links", "pages that they could open, and on which days they were; of the book of a unit while they had it", `select jsonb_build_object('visit', visit_id, 'unit', unit_id, 'made_at', made_at, 'expires_at', expires_at, 'revoked_at', revoked_at,
			'opened', (select jsonb_object_agg(day, count) from link_view where link_id = r.id))
		from (select *, made_at as at from link) r where visit_id in ` + visits + ` or ` + theirs + ` order by id`},
	{"pictures", "pictures of their units; file is where each lies beside this one", `select jsonb_build_object('picture', p.id, 'job', p.job_id, 'width', p.width, 'height', p.height, 'at', p.at, 'file', 'pictures/' || p.id || '.jpg',
			'shown', coalesce((select shown from picture_shown where picture_id = p.id order by id desc limit 1), false), 'findings', array(select finding_id from finding_picture where picture_id = p.id))
		from picture p where p.job_id in ` + jobs + ` and p.sha <> '' order by p.id`},
	{"history", "everything that happened, in codes", `select jsonb_build_object('at', at, 'kind', kind, 'unit', unit_id, 'job', job_id, 'detail', detail) from event where customer_id = any ($1) order by id`},
}

// File is what is written of one customer.
type File struct {
	Customer customer.Customer
	data     []byte
	pictures []picture.Picture
}

// Name is what the file is called.
func (f File) Name() string { return fmt.Sprintf("customer-%d.zip", f.Customer.ID) }

// MostData is the most that data.json may hold, in bytes: it is made in memory.
const MostData = 32 << 20

type written struct {
	Format   string                       `json:"format"`
	At       time.Time                    `json:"at"`
	Says     map[string]string            `json:"sections"`
	Sections map[string][]json.RawMessage `json:"data"`
}

// Of reads what is kept of a customer, with whoever was merged into them. It asks
// many questions: let it have one snapshot.
func Of(ctx context.Context, q db.Querier, id int64, now time.Time) (f File, err error) {
	if f.Customer, err = customer.Get(ctx, q, id); err != nil {
		return f, err
	}
	if f.Customer.ErasedAt != nil {
		return f, fault.Conflict("This customer was erased: nothing is kept of who they were.")
	}
	var ids []int64
	if err := q.QueryRow(ctx, "select array_agg(id order by id) from customer where id = $1 or merged_into = $1", f.Customer.ID).Scan(&ids); err != nil {
		return f, fmt.Errorf("export customer: %w", err)
	}
	w := written{Format: Format, At: now, Says: map[string]string{}, Sections: map[string][]json.RawMessage{}}
	for _, s := range sections {
		rows, err := q.Query(ctx, s.sql, ids)
		if err != nil {
			return f, fmt.Errorf("export %s: %w", s.name, err)
		}
		list, err := pgx.CollectRows(rows, pgx.RowTo[json.RawMessage])
		if err != nil {
			return f, fmt.Errorf("export %s: %w", s.name, err)
		}
		w.Says[s.name], w.Sections[s.name] = s.what, list
	}
	if f.data, err = json.MarshalIndent(w, "", " "); err != nil {
		return f, fmt.Errorf("export customer: %w", err)
	}
	if len(f.data) > MostData {
		return f, fault.Conflict("There is more of this customer than one file may hold.")
	}
	f.pictures, err = picture.OfCustomers(ctx, q, ids)
	return f, err
}

// Write writes the ZIP as it goes: data.json from memory, then one picture after
// the other from the folder. A picture whose file is missing is left out.
func (f File) Write(to io.Writer, folder *picture.Folder) error {
	z := zip.NewWriter(to)
	w, err := z.Create("data.json")
	if err == nil {
		_, err = w.Write(f.data)
	}
	for _, p := range f.pictures {
		if err == nil {
			err = writePicture(z, folder, p)
		}
	}
	if err = errors.Join(err, z.Close()); err != nil {
		return fmt.Errorf("write export: %w", err)
	}
	return nil
}

func writePicture(z *zip.Writer, folder *picture.Folder, p picture.Picture) error {
	file, err := folder.File(p.SHA)
	if errors.As(err, new(fault.NotFound)) {
		return nil
	}
	if err != nil {
		return err
	}
	defer file.Close()
	// JPEG does not get smaller: it is stored as it is.
	w, err := z.CreateHeader(&zip.FileHeader{Name: fmt.Sprintf("pictures/%d.jpg", p.ID), Method: zip.Store, Modified: p.At})
	if err == nil {
		_, err = io.Copy(w, file)
	}
	return err
}

// Log writes into the history that somebody took the file.
func Log(ctx context.Context, tx pgx.Tx, by history.By, id int64) error {
	if !by.Has("desk") && !by.Has("owner") {
		return fault.Forbidden("The desk or an owner gives a customer their file.")
	}
	c, err := customer.Get(ctx, tx, id)
	if err != nil {
		return err
	}
	return history.Append(ctx, tx, by, history.Event{SubjectKind: "customer", SubjectID: c.ID, Customer: c.ID, Kind: "customer exported"})
}
