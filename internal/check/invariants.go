package check

// live is every sign-off that no crossing-out answers.
const live = `(select s.* from signoff s where not exists (select from cross_out x where x.signoff_id = s.id))`

// unsigned is every step that is asked with something left to sign, the second
// check included. It came with the act that asks it since, and came later where
// work had started by then.
const unsigned = `(select st.id, st.job_id, st.rank, st.key, st.stop_here, st.second_check,
		coalesce(a.intent_id, st.intent_id) as intent_id, st.added_for is not null or a.id is not null as came_later
	from sheet_step st left join lateral (select * from step_asked where step_id = st.id order by id desc limit 1) a on true
	left join ` + live + ` d on d.step_id = st.id and d.role = 'done' left join ` + live + ` k on k.step_id = st.id and k.role = 'checked'
	where coalesce(a.asked, true) and (d.id is null or (st.second_check and k.id is null)))`

// done is the jobs whose work has ended as done.
const done = `(select * from job where stage in ('ready for pickup', 'picked up', 'sent back') and coalesce(ending, 'done') = 'done')`

// valued is a step with the value that counts for it: the copied one, else the
// newest given at the bench.
const valued = `(select st.*, coalesce(st.nominal_si, v.nominal_si) as nominal,
	case when st.nominal_si is null then v.minus_si else st.minus_si end as minus,
	case when st.nominal_si is null then v.plus_si else st.plus_si end as plus
	from sheet_step st left join lateral (select * from step_value where step_id = st.id order by id desc limit 1) v on true)`

// act numbers the act that a row was stored in: of two rows of one job the one
// with the lower number came first, because whoever writes to a sheet holds its
// job.
func act(row string) string {
	return `(select min(e.id) from event e where e.intent_id = ` + row + `.intent_id)`
}

// counted is whether the step h had a sign-off in that role when the sign-off s
// was stored.
func counted(role string) string {
	return `exists (select from signoff d where d.step_id = h.id and d.role = '` + role + `' and d.id < s.id
		and not exists (select from cross_out x where x.signoff_id = d.id and ` + act("x") + ` < ` + act("s") + `))`
}

// owedBefore is what lines with tax less payments came to for the payer of the
// payment p in its visit, of all that was stored before it. Whoever writes
// to a bill holds its visit.
var owedBefore = `(select coalesce(sum(amount + case when inside then 0 else round(amount * bp / 10000) end), 0)
		from (select sum(round(l.qty_milli::numeric * l.unit_minor / 1000) - l.discount_minor) as amount, t.bp, l.tax_included as inside
			from bill_line l join tax_rate t on t.id = l.tax_id
			where l.visit_id = p.visit_id and l.payer = p.payer
				and case when l.payer in ('customer', 'us') then '' else l.payer_words end = p.payer_words and ` + act("l") + ` < ` + act("p") + `
			group by t.code, t.bp, l.tax_included, case when l.tax_by_line then coalesce(l.reverses, l.id) end) s)
	- (select coalesce(sum(b.minor), 0) from payment b where b.visit_id = p.visit_id and b.payer = p.payer and b.payer_words = p.payer_words and b.id < p.id)`

// appendOnly is every table whose comment says so.
const appendOnly = `(select c.oid, c.relname from pg_class c where c.relkind = 'r' and c.relnamespace = 'public'::regnamespace
	and obj_description(c.oid, 'pg_class') like '%, append-only:%')`

// Invariants hold after every commit.
var Invariants = []Invariant{
	{"guarded: every table names its owner", `
		select c.relname from pg_class c
		where c.relkind = 'r' and c.relnamespace = 'public'::regnamespace
			and coalesce(obj_description(c.oid, 'pg_class'), '') !~ '^[a-z]+(, append-only)?: .'`},
	{"guarded: whoever serves may erase a customer by the one function, and nobody else", `
		select p.proname from pg_proc p where p.pronamespace = 'public'::regnamespace and p.proname = 'erase_customer'
			and (not p.prosecdef or has_function_privilege('public', p.oid, 'execute'))`},
	{"guarded: append-only tables have both triggers", `
		select t.relname from ` + appendOnly + ` t
		where (select count(*) from pg_trigger g where g.tgrelid = t.oid and g.tgenabled = 'A'
			and g.tgname in ('append_only', 'append_only_all')) <> 2`},
	{"guarded: the serving role cannot change append-only tables", `
		select t.relname || ' ' || p from ` + appendOnly + ` t, unnest(array['update', 'delete', 'truncate']) p, pg_roles r
		where r.rolname = 'damperdesk_serve' and has_table_privilege(r.oid, t.oid, p)`},

	{"chained: every event is sealed once", `
		select e.id from event e left join event_chain c on c.event_id = e.id where c.event_id is null`},
	{"chained: the seals recompute", `
		select c.seq from (select c.*, lag(hash) over (order by seq) as previous, lag(seq) over (order by seq) as before from event_chain c) c
		join event e on e.id = c.event_id
		where c.hash <> event_hash(c.previous, e) or c.seq <> coalesce(c.before, 0) + 1`},

	{"bench is true: what is called inside the window is inside it", `
		select 'signoff ' || s.id from ` + live + ` s join ` + valued + ` st on st.id = s.step_id
		where s.in_window and s.value_si is not null and st.nominal is not null and (st.minus > 0 or st.plus > 0)
			and not (s.value_si between st.nominal - st.minus - 1e-2 * abs(st.nominal) and st.nominal + st.plus + 1e-2 * abs(st.nominal))`},
	{"bench is true: outside the window only with a reason", `
		select 'signoff ' || s.id from ` + live + ` s where not s.in_window and s.reason = ''`},
	{"bench is true: torque and volume have a source", `
		select 'signoff ' || s.id from ` + live + ` s join sheet_step st on st.id = s.step_id
		where st.kind in ('torque', 'volume') and s.role = 'done' and s.outcome = 'done' and (st.nominal_si is null or st.source = '')
			and not exists (select from step_value v where v.step_id = st.id and v.source <> '')`},
	{"bench is true: what guards people or parts applies, unless a fact was not known", `
		select 'signoff ' || s.id from signoff s join sheet_step st on st.id = s.step_id
		where s.outcome = 'does not apply' and not st.unsure and (st.kind in ('torque', 'volume') or st.stop_here or st.second_check)`},
	{"bench is true: nothing is live after an unsigned stop-here, unless a service added since asks for that", `
		select 'step ' || st.id from ` + unsigned + ` h join sheet_step st on st.job_id = h.job_id and st.rank > h.rank
		join ` + live + ` s on s.step_id = st.id
		where h.stop_here and not (
			(h.came_later and ` + act("s") + ` < ` + act("h") + `
				or ` + counted("done") + ` and (not h.second_check or ` + counted("checked") + `))
			and not exists (select from cross_out x where x.step_id = h.id and x.added_service is null and ` + act("x") + ` >= ` + act("s") + `))`},
	{"bench is true: at most six signed together, simple lines of one block", `
		select 'together ' || s.together from ` + live + ` s join sheet_step st on st.id = s.step_id where s.together is not null
		group by s.together
		having count(*) > 6 or count(distinct st.block) > 1 or bool_or(st.kind in ('torque', 'volume') or st.stop_here or st.second_check)`},
	{"bench is true: the second person differs or is marked alone", `
		select 'signoff ' || s.id from signoff s where s.role = 'checked' and s.actor_id = s.of_actor_id and not s.alone`},
	{"bench is true: nothing was signed on a step that is no longer asked", `
		select 'step ' || a.step_id from step_asked a join signoff s on s.step_id = a.step_id
		where not a.asked and not exists (select from step_asked b where b.step_id = a.step_id and b.id > a.id)`},
	{"bench is true: one live sign-off a step and role", `
		select 'step ' || step_id from ` + live + ` s group by step_id, role having count(*) > 1`},

	{"bench is true: a tool stands as it was last said to", `
		select 'tool ' || t.id from tool t
		where t.state <> coalesce((select c.state from tool_state c where c.tool_id = t.id order by c.id desc limit 1), 'in use')`},

	{"sheets are true: whoever checked wrote nothing in it, or is marked alone", `
		select 'sheet ' || s.id from sheet s join sheet_editor e on e.sheet_id = s.id and e.staff_id = s.checked_by where not s.alone`},
	{"sheets are true: one that was checked has a value", `
		select 'sheet ' || s.id from sheet s where s.state <> 'draft' and not exists (select from sheet_value v where v.sheet_id = s.id)`},

	{"people are safe: every PIN is hashed with argon2id", `
		select 'staff ' || id from staff where pin_hash not like '$argon2id$%'`},

	{"bench is true: no verdict stands beside a finding that belies it", `
		select 'finding ' || f.id from finding f join sheet_step st on st.job_id = f.job_id and st.key = 'V9'
		join ` + live + ` s on s.step_id = st.id and s.role = 'done'
		where not exists (select from finding_answer w where w.finding_id = f.id)
			and (s.grade = 'safe to ride' and f.grade in ('keep an eye on', 'do not ride') or s.grade = 'keep an eye on' and f.grade = 'do not ride')`},
	{"bench is true: no second check from before what was not to be ridden was put right", `
		select 'finding ' || f.id from finding f join finding_answer w on w.finding_id = f.id and w.kind = 'put right'
		join sheet_step st on st.job_id = f.job_id and (st.id = f.step_id or st.key = 'V9')
		join ` + live + ` k on k.step_id = st.id and k.role = 'checked'
		where f.grade = 'do not ride' and ` + act("k") + ` <= ` + act("w")},

	{"customers are one: a merge leads to somebody who is not merged", `
		select 'customer ' || c.id from customer c join customer o on o.id = c.merged_into where o.merged_into is not null`},
	{"customers are one: whoever is merged has no unit or bike", `
		select 'customer ' || c.id from customer c where c.merged_into is not null
			and (exists (select from unit where customer_id = c.id) or exists (select from bike where customer_id = c.id))`},
	{"customers are one: they are merged as the merges that stand say", `
		with recursive stands as (select m.from_id, m.into_id from customer_merge m
				where not exists (select from customer_merge_undone u where u.merge_id = m.id)),
			leads as (select from_id, into_id from stands
				union select l.from_id, s.into_id from leads l join stands s on s.from_id = l.into_id)
		select 'customer ' || c.id from customer c
		left join leads l on l.from_id = c.id and not exists (select from stands s where s.from_id = l.into_id)
		where l.into_id is distinct from c.merged_into`},

	{"state equals facts: the stage is the last stage change", `
		select 'job ' || j.id from job j
		where j.stage is distinct from (select c.stage from stage_change c where c.job_id = j.id order by c.seq desc limit 1)`},
	{"state equals facts: what a visit promises is what was promised last", `
		select 'visit ' || v.id from visit v
		join lateral (select promised_at from promise where visit_id = v.id order by id desc limit 1) p on p.promised_at <> v.promised_at`},
	{"state equals facts: ready means every step is live", `
		select 'job ' || j.id from ` + done + ` j join ` + unsigned + ` st on st.job_id = j.id`},
	{"state equals facts: ready means the settings are returned", `
		select 'job ' || j.id from ` + done + ` j join sheet_step st on st.job_id = j.id and (st.key = 'V2' or st.key like 'V3.%')
		join ` + live + ` s on s.step_id = st.id and s.role = 'done' where s.outcome = 'unknown'`},
	{"state equals facts: ready means a bench sheet", `
		select 'job ' || j.id from ` + done + ` j where not exists (select from sheet_step st where st.job_id = j.id)`},
	{"state equals facts: ready means no open hold", `
		select 'job ' || j.id from ` + done + ` j join hold h on h.job_id = j.id left join hold_end e on e.hold_id = h.id
		where e.id is null`},
	{"state equals facts: ready means the customer has a link", `
		select 'job ' || j.id from job j
		where j.stage = 'ready for pickup' and not exists (select from link l where l.visit_id = j.visit_id and l.revoked_at is null)`},
	{"state equals facts: one open job per unit", `
		select 'unit ' || unit_id from job where closed_at is null group by unit_id having count(*) > 1`},
	{"state equals facts: who left was handed over", `
		select 'job ' || j.id from job j left join hand_over h on h.job_id = j.id
		where (j.stage in ('picked up', 'sent back')) <> (h.id is not null)`},

	{"erased is gone: nobody who was erased has a name, a way to reach them, or an open job", `
		select 'customer ' || c.id from customer c where c.erased_at is not null and (c.name <> 'erased customer ' || c.id
			or c.name_key || c.phone || c.phone_digits || c.mail || c.mail_key || c.address <> '' or c.grams <> '{}'
			or exists (select from bike b where b.customer_id = c.id and b.words || b.colour || b.frame_no <> '')
			or exists (select from job j join visit v on v.id = j.visit_id where v.customer_id = c.id and j.closed_at is null))`},
	{"erased is gone: with a customer goes whoever was merged into them, and the history says so", `
		select 'customer ' || c.id from customer c join customer k on k.id = c.merged_into where c.erased_at is distinct from k.erased_at
		union all select 'customer ' || c.id from customer c where c.erased_at is not null and c.merged_into is null
			and not exists (select from event e where e.customer_id = c.id and e.kind = 'customer erased')`},

	{"bills add up: what was owed at a payment is lines with tax less payments", `
		select 'payment ' || p.id from payment p where p.owed_minor <> ` + owedBefore},
	{"bills add up: a line taken back is answered by its exact opposite", `
		select 'bill_line ' || o.id from bill_line o join bill_line l on l.id = o.reverses
		where l.reverses is not null or (l.visit_id, l.job_id, l.payer, l.payer_words, l.kind, l.words, -l.qty_milli, l.unit_minor, l.currency, l.tax_id, l.tax_included, l.tax_by_line, -l.discount_minor)
			is distinct from (o.visit_id, o.job_id, o.payer, o.payer_words, o.kind, o.words, o.qty_milli, o.unit_minor, o.currency, o.tax_id, o.tax_included, o.tax_by_line, o.discount_minor)`},
	{"bills add up: a payment taken back is answered by its exact opposite", `
		select 'payment ' || o.id from payment o join payment p on p.id = o.reverses
		where p.reverses is not null or (p.kind, p.payer, p.payer_words, p.deposit, -p.minor, p.currency) is distinct from (o.kind, o.payer, o.payer_words, o.deposit, o.minor, o.currency)`},
	{"bills add up: what rounding left goes with its payment in cash", `
		select 'payment ' || r.id from payment r join payment p on p.id = r.rounds
		where p.kind <> 'cash' or (p.payer, p.payer_words) <> (r.payer, r.payer_words) or abs(r.minor) > 250
			or exists (select from payment o where o.reverses = r.id) <> exists (select from payment o where o.reverses = p.id)`},
	{"bills add up: a visit has its tax rounded in one way", `
		select 'visit ' || visit_id from bill_line group by visit_id having count(distinct tax_by_line) > 1`},
	{"bills add up: one currency a visit", `
		select 'visit ' || v.id from visit v join (select visit_id, currency from bill_line union select visit_id, currency from payment) b on b.visit_id = v.id
		where b.currency <> v.currency`},
	{"bills add up: a service of a job is billed once", `
		select 'job ' || l.job_id from bill_line l left join bill_line o on o.reverses = l.id
		where l.reverses is null and o.id is null and l.service_code is not null group by l.job_id, l.service_code having count(*) > 1`},
	{"bills add up: a part that was used is billed once", `
		select 'need ' || l.need_id from bill_line l left join bill_line o on o.reverses = l.id
		where l.reverses is null and o.id is null and l.need_id is not null group by l.need_id having count(*) > 1`},
	{"bills add up: versions of a price or rate are without a gap", `
		select 'price ' || service_code || ' ' || coalesce(model_id, 0) from price group by service_code, model_id having max(version) <> count(*)
		union all select 'hourly rate' from hourly_rate having max(version) <> count(*)`},

	{"stock adds up: a balance is the sum of its moves", `
		select 'item ' || coalesce(b.item_id, m.item_id) from balance b full join (
			select item_id, sum(qty) as qty, sum(value_minor) as value, count(*) as n, max(seq) as seq from move group by item_id) m on m.item_id = b.item_id
		where b.item_id is null or (b.qty, b.value_minor, b.seq, b.seq) is distinct from
			(coalesce(m.qty, 0), coalesce(m.value, 0), coalesce(m.n, 0), coalesce(m.seq, 0))`},
	{"stock adds up: a move keeps what it came to", `
		select 'move ' || id from (select id, qty_after, value_after, sum(qty) over w as qty, sum(value_minor) over w as value
			from move window w as (partition by item_id order by seq)) m where (qty_after, value_after) <> (qty, value)`},
	{"stock adds up: what goes out takes its share of the value, what comes in brings its cost", `
		select 'move ' || id from (select *, qty_after - qty as before, value_after - value_minor as worth from move) m
		where reverses is null and (
			qty < 0 and before >= -qty and value_minor <> round(worth::numeric * qty / before)
			or qty < 0 and cost_minor <> value_minor
			or qty > 0 and before >= 0 and value_minor <> cost_minor)`},
	{"stock adds up: nothing there is worth nothing", `
		select 'move ' || id from move where qty_after = 0 and value_after <> 0 or qty_after > 0 and value_after < 0 or qty_after < 0 and value_after > 0`},
	{"stock adds up: a count keeps what the ledger said at that move", `
		select 'count line ' || l.id from count_line l left join move m on m.item_id = l.item_id and m.seq = l.seq
		where l.ledger <> coalesce(m.qty_after, 0) or (l.seq > 0) <> (m.id is not null)`},
	{"stock adds up: a posted count moved its differences, and no other count anything", `
		select 'count line ' || l.id from (select l.*, c.state, lead(l.id) over (partition by l.count_id, l.item_id order by l.id) is null as last
			from count_line l join stock_count c on c.id = l.count_id) l left join move m on m.count_line_id = l.id
		where coalesce(m.qty, 0) <> case when l.last and l.state = 'posted' then l.counted - l.ledger else 0 end`},
	{"stock adds up: waste taken back is answered by its opposite", `
		select 'waste ' || r.id from waste r join waste o on o.id = r.reverses
		where o.reverses is not null or (r.kind, -r.amount, r.job_id) is distinct from (o.kind, o.amount, o.job_id)
		union all select 'waste pickup ' || r.id from waste_pickup r join waste_pickup o on o.id = r.reverses
		where o.reverses is not null or (r.kind, -r.amount, r.document, r.taken_on) is distinct from (o.kind, o.amount, o.document, o.taken_on)`},
	{"stock adds up: a move taken back is answered by its opposite", `
		select 'move ' || r.id from move r join move m on m.id = r.reverses
		where m.reverses is not null or r.qty <> -m.qty or r.seq < m.seq or (r.job_id, r.step_id, r.batch_id, r.purchase_line_id) is distinct from (m.job_id, m.step_id, m.batch_id, m.purchase_line_id)`},

	{"orders are true: an order stands as it last came to", `
		select 'purchase ' || p.id from purchase p
		where p.state is distinct from (select s.state from purchase_state s where s.purchase_id = p.id order by s.id desc limit 1)`},
	{"orders are true: it was sent when it says so", `
		select 'purchase ' || p.id from purchase p
		where p.sent_at is distinct from (select s.at from purchase_state s where s.purchase_id = p.id and s.state = 'sent' order by s.id limit 1)`},
	{"orders are true: received means that nothing is to come, and sent that nothing came", `
		select 'purchase ' || p.id from purchase p
		join (select l.purchase_id, bool_or(l.qty - coalesce(m.qty, 0) - coalesce(c.cancelled, 0) > 0) as awaited, bool_or(coalesce(m.qty, 0) > 0) as came
			from purchase_line l left join (select purchase_line_id, sum(qty) as qty from move group by 1) m on m.purchase_line_id = l.id
			left join (select line_id, sum(cancelled) as cancelled from purchase_short group by 1) c on c.line_id = l.id
			group by l.purchase_id) l on l.purchase_id = p.id
		where p.state = 'received' and l.awaited or p.state in ('sent', 'part received') and not l.awaited or p.state = 'sent' and l.came`},
	{"orders are true: nothing was received for what was never sent, and never less than nothing", `
		select 'purchase_line ' || l.id from purchase_line l join purchase p on p.id = l.purchase_id
		join (select purchase_line_id, sum(qty) as qty from move group by 1) m on m.purchase_line_id = l.id where p.sent_at is null or m.qty < 0`},
	{"orders are true: a sent order has a line, and no more is taken off one than was ordered", `
		select 'purchase ' || p.id from purchase p where p.sent_at is not null and not exists (select from purchase_line l where l.purchase_id = p.id)
		union all select 'purchase_line ' || l.id from purchase_line l join purchase_short s on s.line_id = l.id group by l.id having sum(s.cancelled) > l.qty`},
	{"orders are true: what is on the shelf of a delivery was shelved in its act", `
		select 'delivery ' || d.id from delivery d where d.shelved_at is not null
			and not exists (select from move m join purchase_line l on l.id = m.purchase_line_id where l.purchase_id = d.purchase_id and m.intent_id = d.intent_id)
			and not exists (select from purchase_short s join purchase_line l on l.id = s.line_id where l.purchase_id = d.purchase_id and s.intent_id = d.intent_id)`},

	{"stock adds up: what is set aside lies aside for jobs", `
		select 'item ' || b.item_id from balance b where b.aside <> (select coalesce(sum(aside), 0) from need n where n.item_id = b.item_id)`},
	{"stock adds up: what a job used is what moved for it", `
		select 'job ' || coalesce(n.job_id, m.job_id) || ' item ' || coalesce(n.item_id, m.item_id)
		from (select job_id, item_id, sum(used) as used from need group by job_id, item_id) n
		full join (select job_id, item_id, -sum(qty) as used from move where job_id is not null group by job_id, item_id) m
			on m.job_id = n.job_id and m.item_id = n.item_id
		where coalesce(n.used, 0) <> coalesce(m.used, 0)`},
	{"stock adds up: nothing lies aside for a job that has ended", `
		select 'need ' || n.id from need n join job j on j.id = n.job_id where j.closed_at is not null and n.aside > 0`},

	{"messages are told once: what was sent says when, that it was handed over, and what it said", `
		select 'message ' || id from message where state = 'sent' and (sent_at is null or handed_over_at is null or body = '' or mail = '')
			or state <> 'sent' and sent_at is not null`},
	{"messages are told once: one that may have been sent is never sent again by itself", `
		select 'message ' || m.id from message m where m.handed_over_at is not null and m.state not in ('sending', 'sent', 'doubtful')
		union all select 'message ' || m.id from message m
			left join (select subject_id, count(*) as n from event where subject_kind = 'message' and kind = 'message sent' group by subject_id) e on e.subject_id = m.id
			where m.state = 'sent' and coalesce(e.n, 0) <> 1`},
	{"messages are told once: what is written in one letter has come equally far", `
		select 'message ' || m.id from message m join message l on l.id = m.goes_with
		where l.goes_with is not null or l.state <> m.state or l.kind <> m.kind or l.customer_id <> m.customer_id or l.sent_at is distinct from m.sent_at`},
	{"messages are told once: a cause has one message", `
		select min(id)::text || ' ' || cause from message group by cause having count(*) > 1`},

	{"every act has its cause: an intent has an answer", `
		select i.id from intent i where i.answer is null`},
	{"due is reckoned: it says whether the unit is here", `
		select 'unit ' || d.unit_id from due d left join job o on o.unit_id = d.unit_id and o.closed_at is null
		where d.open_job is distinct from o.id and not exists (select from due_stale s where s.unit_id = d.unit_id)`},
	{"due is reckoned: a service that was done stands in it once all were reckoned", `
		select 'unit ' || j.unit_id || ' ' || s.service_code from job j join job_service s on s.job_id = j.id
		join interval_rule r on r.service_code = s.service_code and r.model_id is null and (r.hours > 0 or r.months > 0 or r.season)
		join unit u on u.id = j.unit_id
		where j.ending = 'done' and u.id <= (select behind from due_scan where finished_at is not null order by day desc limit 1)
			and not exists (select from interval_rule o where o.model_id = u.model_id)
			and not exists (select from due d where d.unit_id = u.id and d.service_code = s.service_code)
			and not exists (select from due_stale t where t.unit_id = u.id)
			and not exists (select from customer c where c.id = u.customer_id and c.erased_at is not null)
			and not exists (select from job l where l.unit_id = u.id and l.ending = 'left for scrap'
				and not exists (select from job o where o.unit_id = u.id and o.id > l.id))`},
	{"due is reckoned: nothing that an act touched waits for long", `
		select 'unit ' || s.unit_id from due_stale s where exists (select from due_scan d where d.finished_at > s.at + interval '10 minutes')`},

	{"every act has its cause: an append-only row has an event of its intent", `
		select t || ' ' || id from (
			select 'terms' as t, id, intent_id from terms union all select 'calibration', id, intent_id from calibration
			union all select 'tool_state', id, intent_id from tool_state union all select 'tool_mishap', id, intent_id from tool_mishap
			union all select 'stage_change', id, intent_id from stage_change union all select 'hold', id, intent_id from hold
			union all select 'promise', id, intent_id from promise
			union all select 'hold_end', id, intent_id from hold_end union all select 'hand_over', id, intent_id from hand_over
			union all select 'service_taken_off', id, intent_id from service_taken_off union all select 'step_asked', id, intent_id from step_asked
			union all select 'wait_begun', id, intent_id from wait_begun union all select 'tool_allowed', id, intent_id from tool_allowed union all select 'handed_on', id, intent_id from handed_on
			union all select 'sheet_step', id, intent_id from sheet_step union all select 'step_value', id, intent_id from step_value
			union all select 'signoff', id, intent_id from signoff union all select 'cross_out', id, intent_id from cross_out
			union all select 'unit_sold', id, intent_id from unit_sold
			union all select 'customer_merge', id, intent_id from customer_merge union all select 'customer_merge_undone', id, intent_id from customer_merge_undone
			union all select 'hour_reading', id, intent_id from hour_reading union all select 'reading_taken_back', reading_id, intent_id from reading_taken_back union all select 'book_taken_back', unit_id, intent_id from book_taken_back union all select 'consent', id, intent_id from consent union all select 'put_off', id, intent_id from put_off union all select 'unit_event', id, intent_id from unit_event union all select 'elsewhere_service', id, intent_id from elsewhere_service
			union all select 'unit_inside', id, intent_id from unit_inside union all select 'unit_value', id, intent_id from unit_value
			union all select 'finding', id, intent_id from finding union all select 'finding_answer', id, intent_id from finding_answer
			union all select 'proposal', id, intent_id from proposal union all select 'proposal_answer', id, intent_id from proposal_answer
			union all select 'proposal_billed', id, intent_id from proposal_billed union all select 'pin', id, intent_id from pin
			union all select 'estimate', id, intent_id from estimate union all select 'estimate_line', id, intent_id from estimate_line
			union all select 'estimate_share', id, intent_id from estimate_share
			union all select 'proposal_call', id, intent_id from proposal_call union all select 'proposal_reminder', id, intent_id from proposal_reminder
			union all select 'finding_told', id, intent_id from finding_told union all select 'finding_seen', id, intent_id from finding_seen
			union all select 'finding_picture', id, intent_id from finding_picture
			union all select 'picture', id, intent_id from picture union all select 'picture_shown', id, intent_id from picture_shown
			union all select 'tax_rate', id, intent_id from tax_rate union all select 'price', id, intent_id from price union all select 'hourly_rate', id, intent_id from hourly_rate
			union all select 'batch', id, intent_id from batch union all select 'opened', id, intent_id from opened union all select 'move', id, intent_id from move
			union all select 'purchase_state', id, intent_id from purchase_state union all select 'purchase_short', id, intent_id from purchase_short
			union all select 'count_line', id, intent_id from count_line union all select 'waste', id, intent_id from waste union all select 'waste_pickup', id, intent_id from waste_pickup
			union all select 'bill_line', id, intent_id from bill_line union all select 'payment', id, intent_id from payment) a
		where not exists (select from event e where e.intent_id = a.intent_id)`},
}
