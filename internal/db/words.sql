-- Runs after every migration, any number of times, before the guard: which free
-- text of which table is a person's and how it goes when they are erased.
--
-- Every free text column of every table stands in erasable(), or its table does
-- as a whole, with '*'; a test compares it with the schema. becomes is what the
-- text turns into: '' or, where a check wants words, 'erased'; null: it stays.
-- Of what says named only texts go in which the person's name, phone or mail
-- stands; of JSON only the texts inside it that do. A column of codes (a check or a key says which) needs no row.
create or replace function erasable() returns table (tab text, col text, becomes text, named boolean, why text)
language sql immutable as $$
  values
  -- who they are: name and address are set by erase_customer itself
  ('customer', 'name', null, false, 'set to a number'), ('customer', 'name_key', '', false, 'made of the name'),
  ('customer', 'phone', '', false, ''), ('customer', 'phone_digits', '', false, ''), ('customer', 'mail', '', false, ''),
  ('customer', 'mail_key', '', false, ''), ('customer', 'address', '', false, ''), ('customer', 'grams', null, false, 'emptied with the keys'),
  ('customer_merge_words', 'was', null, false, 'emptied'), ('customer_merge_words', 'picked', null, false, 'emptied'),
  ('bike', 'words', '', false, 'a bike is its rider''s'), ('bike', 'colour', '', false, ''), ('bike', 'frame_no', '', false, 'registers know whose it is'),
  -- what a unit is stays with it, whoever has it next
  ('unit', 'model_words', 'erased', true, 'what it is'), ('unit', 'serial', null, false, 'stamped on the unit'), ('unit', 'tag', null, false, 'the shop''s own number'),
  ('unit', 'serial_key', null, false, 'made of the serial'), ('unit', 'tag_key', null, false, 'made of the tag'),
  ('unit', 'words_key', null, false, 'made anew'), ('unit', 'frame_key', null, false, 'made anew'), ('unit', 'grams', null, false, 'made anew'),
  ('unit_inside', 'notes', '', true, 'how it is inside'), ('unit_inside', 'rate_unit', null, false, 'a unit of measure'),
  ('unit_value', 'entered', '', true, 'a figure as typed'), ('unit_value', 'source_words', 'erased', true, 'where a figure is from'), ('unit_value', 'fluid', '', true, 'a product'),
  ('unit_value', 'key', null, false, 'a spec key'), ('unit_value', 'place', null, false, 'a place of the drawing'), ('unit_value', 'shown_unit', null, false, 'a unit of measure'),
  -- the visit and its job, in words
  ('visit_words', 'terms_by', '', false, 'who accepted'), ('visit_words', 'left_with', '', false, 'who has it'),
  ('job_words', 'complaint', '', false, ''), ('job_words', 'rider_note', '', false, ''), ('job_words', 'taken_by', '', false, 'who fetched it'),
  ('job_words', 'ending_words', '', false, ''), ('job_words', 'payer_words', '', false, 'the bill has it'), ('job_words', 'why_back', '', false, ''),
  ('job_words', 'left_on', '', false, ''), ('job_words', 'carrier', '', false, ''), ('job_words', 'tracking', '', false, 'leads to an address'),
  ('job_words', 'unpaid_words', '', false, ''),
  ('job', 'hangs_at', '', true, 'a place in the shop'), ('job', 'rider_entered', '', false, 'what the rider weighs'), ('job', 'riding', '', false, 'how they ride'),
  ('job_answer', 'words', 'erased', false, 'what they answered'), ('job_answer', 'symptom', null, false, 'a code'), ('job_answer', 'question', null, false, 'a code'),
  ('job_symptom', 'symptom', null, false, 'a code'), ('job_service', 'origin', null, false, 'a code'),
  ('job_mark', 'words', 'erased', false, 'how it came'), ('job_mark', 'place', null, false, 'a place of the drawing'),
  ('stage_change', 'reason', '', false, ''), ('stage_change', 'stage', null, false, 'a code'), ('promise', 'reason', '', false, ''), ('pin', 'reason', '', false, ''),
  ('hold', 'tray', '', true, 'a place in the shop'), ('handed_on', 'words', 'erased', false, 'what the next one should know'),
  ('service_taken_off', 'reason', 'erased', false, ''), ('finding_told', 'told', 'erased', false, 'who was told'),
  ('proposal_answer', 'who', 'erased', false, 'who answered'), ('proposal_call', 'who', 'erased', false, ''), ('proposal_call', 'words', '', false, 'a number to ring'),
  ('proposal_reminder', 'who', 'erased', false, ''),
  ('draft', '*', null, false, 'drafts that name them are thrown away'),
  -- the work: what was found, done and written down of the unit
  ('finding', 'words', 'erased', true, 'a fact of the unit'), ('finding_answer', 'words', 'erased', true, 'a fact of the work'),
  ('proposal', 'words', 'erased', true, 'what work was proposed'), ('cross_out', 'reason', 'erased', true, 'why a sign-off was wrong'),
  ('cross_out', 'role', null, false, 'a code'), ('signoff', 'reason', 'erased', true, 'why it is outside its window'),
  ('signoff', 'grade', null, false, 'a code'), ('signoff', 'entered', '', true, 'a figure as typed'), ('signoff', 'shown_unit', null, false, 'a unit of measure'),
  ('signoff', 'fluid', '', true, 'a product'), ('signoff', 'instrument', '', true, 'a tool'),
  ('step_value', 'entered', 'erased', true, 'a figure as typed'), ('step_value', 'source', 'erased', true, 'where a figure is from'),
  ('step_value', 'fluid', '', true, 'a product'), ('step_value', 'shown_unit', null, false, 'a unit of measure'),
  ('sheet_step', '*', null, false, 'copied from the library'), ('tool_allowed', 'reason', 'erased', true, 'why a tool may be used'),
  ('need', 'condition', '', true, 'how the old part was'), ('need', 'step_key', null, false, 'a code'),
  ('picture', 'sha', '', false, 'the file goes'), ('picture', 'thumb_sha', '', false, 'the file goes'), ('picture_waiting', '*', null, false, 'goes with its draft'),
  ('picture_gone', '*', null, false, 'goes with its file'),
  -- money: bills are kept
  ('bill_line', 'words', 'erased', true, 'what was billed'), ('bill_line', 'payer_words', 'erased', true, 'which claim or team'),
  ('bill_line', 'discount_reason', 'erased', false, ''), ('bill_line', 'reason', 'erased', false, ''),
  ('payment', 'words', '', false, 'a note'), ('payment', 'reason', 'erased', false, ''), ('payment', 'payer_words', 'erased', true, 'which claim or team'),
  ('estimate_line', 'words', null, false, 'the name of a service'), ('estimate_line', 'payer_words', 'erased', true, 'which claim or team'),
  ('estimate_share', 'payer_words', 'erased', true, 'which claim or team'),
  -- the shelf, where a job stands in it
  ('move', 'reason', 'erased', true, 'why it moved'), ('waste', 'container', '', true, 'a place in the shop'), ('waste', 'reason', 'erased', true, 'why it was taken back'),
  ('purchase', 'note', '', true, 'for the supplier'), ('purchase', 'state', null, false, 'a code'), ('purchase_state', 'reason', 'erased', true, ''),
  ('purchase_short', 'words', 'erased', true, 'what was wrong with it'), ('delivery_line', 'batch', null, false, 'stamped on the part'), ('delivery_line', 'words', '', true, ''),
  -- what they were told
  ('message', 'cause', null, false, 'ids and a day'), ('message', 'why', null, false, 'a code'), ('message', 'mail', 'erased', false, 'where it went'),
  ('message', 'subject', 'erased', false, 'what it said'), ('message', 'body', 'erased', false, 'what it said'),
  -- work that another shop did on the unit, as its service book told
  ('elsewhere_service', 'ref', null, false, 'tells one work from another'), ('elsewhere_service', 'shop', 'erased', true, 'who did it'),
  ('elsewhere_service', 'services', 'erased', true, 'a fact of the work'), ('elsewhere_service', 'found', 'erased', true, 'a fact of the work'),
  ('elsewhere_service', 'readings', 'erased', true, 'a fact of the work'), ('elsewhere_service', 'settings', 'erased', true, 'a fact of the work'),
  ('reading_taken_back', 'reason', 'erased', true, 'why ride hours were wrong'),
  ('book_taken_back', 'reason', 'erased', true, 'why a service book was read in by mistake'),
  ('book_file', '*', null, false, 'thrown away where it is of them or names them'),
  -- what holds no words of customers
  ('message_template', '*', null, false, 'of the shop'),
  ('intent', 'fingerprint', null, false, 'a hash of what was typed, emptied'), ('intent', 'kind', null, false, 'a code'), ('intent', 'answer', null, false, 'an address of this program'),
  ('event', '*', null, false, 'ids, codes and numbers'), ('event_chain', '*', null, false, 'hashes'), ('hour_reading', '*', null, false, 'codes and numbers of the unit'),
  ('link', '*', null, false, 'a hash; revoked'), ('link_key', '*', null, false, 'of the shop'),
  ('staff', '*', null, false, 'who works here'), ('session', '*', null, false, 'who works here'), ('attempt', '*', null, false, 'who works here'),
  ('setup_code', '*', null, false, 'of the shop'), ('device', '*', null, false, 'of the shop'), ('absence', '*', null, false, 'who works here'),
  ('shop', '*', null, false, 'of the shop'), ('terms', '*', null, false, 'of the shop'), ('supplier', '*', null, false, 'of the trade'),
  ('item', '*', null, false, 'of the shelf'), ('item_supplier', '*', null, false, 'of the shelf'), ('item_file', '*', null, false, 'of the shelf'),
  ('batch', '*', null, false, 'of the shelf'), ('stock_count', '*', null, false, 'of the shelf'), ('parts_line', '*', null, false, 'of the shelf'),
  ('waste_pickup', '*', null, false, 'of the carrier'), ('advice', '*', null, false, 'figures of the shelf'),
  ('tool', '*', null, false, 'of the shop'), ('tool_limit', '*', null, false, 'of the shop'), ('tool_mishap', '*', null, false, 'of the shop'),
  ('tool_state', '*', null, false, 'of the shop'), ('calibration', '*', null, false, 'of the shop'), ('tax_rate', '*', null, false, 'of the shop'),
  ('model', '*', null, false, 'of the library'), ('document', '*', null, false, 'of the library'), ('sheet_value', '*', null, false, 'of the library'),
  ('setup_chart', '*', null, false, 'of the library'), ('library_file', '*', null, false, 'of the library'), ('block', '*', null, false, 'of the library'),
  ('step', '*', null, false, 'of the library'), ('service', '*', null, false, 'of the library')
$$;

-- Which rows of a table are of a person: $1 who they are, with whoever was merged
-- into them, $2 their visits, $3 the jobs of those, $4 the units they have, sold
-- or bought, and those of the jobs.
create or replace function erasable_rows() returns table (tab text, condition text) language sql immutable as $$
  values
  ('customer', 'id = any ($1)'), ('bike', 'customer_id = any ($1)'), ('unit', 'id = any ($4)'), ('unit_inside', 'unit_id = any ($4)'), ('unit_value', 'unit_id = any ($4)'),
  ('visit_words', 'visit_id = any ($2)'), ('job_words', 'job_id = any ($3)'), ('job', 'id = any ($3)'), ('job_answer', 'job_id = any ($3)'), ('job_mark', 'job_id = any ($3)'),
  ('stage_change', 'job_id = any ($3)'), ('promise', 'visit_id = any ($2)'), ('pin', 'job_id = any ($3)'), ('hold', 'job_id = any ($3)'), ('handed_on', 'job_id = any ($3)'),
  ('service_taken_off', 'job_id = any ($3)'), ('finding', 'job_id = any ($3)'), ('proposal', 'job_id = any ($3)'), ('need', 'job_id = any ($3)'),
  ('finding_told', 'finding_id in (select id from finding where job_id = any ($3))'), ('finding_answer', 'finding_id in (select id from finding where job_id = any ($3))'),
  ('proposal_answer', 'proposal_id in (select id from proposal where job_id = any ($3))'), ('proposal_call', 'proposal_id in (select id from proposal where job_id = any ($3))'),
  ('proposal_reminder', 'proposal_id in (select id from proposal where job_id = any ($3))'),
  ('signoff', 'step_id in (select id from sheet_step where job_id = any ($3))'), ('cross_out', 'step_id in (select id from sheet_step where job_id = any ($3))'),
  ('step_value', 'step_id in (select id from sheet_step where job_id = any ($3))'), ('tool_allowed', 'step_id in (select id from sheet_step where job_id = any ($3))'),
  ('picture', 'job_id = any ($3)'), ('bill_line', 'visit_id = any ($2)'), ('payment', 'visit_id = any ($2)'),
  ('estimate_line', 'job_id = any ($3)'), ('estimate_share', 'estimate_id in (select id from estimate where visit_id = any ($2))'),
  ('move', 'job_id = any ($3)'), ('waste', 'job_id = any ($3)'),
  ('purchase', 'id in (select purchase_id from purchase_line where job_id = any ($3))'), ('purchase_state', 'purchase_id in (select purchase_id from purchase_line where job_id = any ($3))'),
  ('message', 'customer_id = any ($1)'), ('elsewhere_service', 'unit_id = any ($4)'), ('reading_taken_back', 'unit_id = any ($4)'), ('book_taken_back', 'unit_id = any ($4)'),
  ('purchase_short', 'line_id in (select id from purchase_line where job_id = any ($3))'), ('delivery_line', 'line_id in (select id from purchase_line where job_id = any ($3))')
$$;

-- What a person of those names is known by in a text, as one expression: '$.' where
-- that is nothing. A whole name counts in any case, also with the family's first and
-- a comma, or without a title and what stands in brackets; a word of it from a capital
-- on, so that "will" is not Will Stone. Both are whole words, but for scripts that put
-- no spaces between words, or endings on names, where it is anywhere.
create or replace function name_pattern(names text[]) returns text language sql immutable as $$
  with class (letter, dense) as (values ('[:alnum:]\u0300-\u036f\u0900-\u0dff',
    '\u0e00-\u109f\u1100-\u11ff\u1780-\u17ff\u3005-\u3007\u3040-\u30fa\u30fc-\u31ff\u3400-\u9fff\uac00-\ud7af\uf900-\ufaff\uff66-\uff9f\U00020000-\U0003ffff')),
  typed as (select regexp_replace(name, '[\s\u00a0\u3000]+', ' ', 'g') as name from unnest(names) name),
  short as (select name from typed union select regexp_replace(regexp_replace(name, ' ?[(\[].*[)\]]', ''), '^(mr|mrs|ms|miss|mx|dr|herr|frau|mme)\.? ', '', 'i') from typed),
  spelled as (select name, true as whole from typed union select name, true from short where name ~ '\S \S'
    union select regexp_replace(name, '^([^,]+), ?([^,]+)$', '\2 \1'), true from short where name like '%,%'
    union select regexp_replace(name, '^(\S+) (\S+)$', '\2, \1'), true from short where name ~ '^[^ ,]+ [^ ,]+$'
    union select btrim(word, '''’-'), false from typed, class, unnest(array['''’-', '']) inside,
        regexp_split_to_table(name, '[^' || letter || inside || ']+') with ordinality w (word, n)
      where n = 1 or name = lower(name) or substr(word, 1, 1) <> lower(substr(word, 1, 1)) or upper(word) = lower(word)),
  part as (
    select btrim(name) as name, whole, '[' || dense || ']' as dense, '([^' || letter || ']|[' || dense || '])' as edge from spelled, class
    where case when whole then regexp_replace(name, '[^' || letter || ']', '', 'g') ~ '..'
        else name ~ '^[^[:digit:]]' and (length(name) >= 3 or name ~ ('[' || dense || ']{2}')) end
      and lower(name) not in ('the', 'mrs', 'bike', 'bikes', 'cycle', 'cycles', 'shop', 'club', 'team', 'hire', 'fork', 'service', 'shock', 'customer')
      and (whole or name <> lower(name) or lower(name) not in ('and', 'van', 'von', 'der', 'den', 'del', 'des', 'dos', 'das', 'della', 'ten', 'ter', 'bin', 'ibn', 'from', 'with'))),
  written as (
    select name ~ ('^' || dense) as open_before, name ~ (dense || '$') as open_behind, edge, (
      select string_agg(case
        when c = ' ' then case when name ~ dense then '\s*' else '[\s\u00a0_]+' end
        when c in ('''', '’', '‘', 'ʼ') then '[''’‘ʼ]?'
        when c in ('-', '‐', '‑') then '[-‐‑\s]?'
        when c = '.' then '\.?'
        when c ~ '[!-/:-@\[-`{-~]' then '\' || c
        when c ~ dense then c || '\s*'
        when lower(c) = upper(c) or length(lower(c) || upper(c)) <> 2 or c ~ '[\u10d0-\u10ff]' then c
        when n = 1 and not whole then upper(c)
        else '[' || upper(c) || lower(c) || ']' end, '' order by n) from string_to_table(name, null) with ordinality l (c, n)) as letters
    from part),
  alike as (
    select case when open_before then '' else '(^|' || edge || ')' end || '(' || string_agg(distinct letters, '|') || ')'
      || case when open_behind then '' else '($|' || edge || ')' end as one
    from written group by open_before, open_behind, edge)
  select coalesce(string_agg(one, '|'), '$.') from alike
$$;

-- The words in the bytes of a file, as they are read: JSON without its escapes.
create or replace function words_in(content bytea) returns text language plpgsql immutable as $$
begin
  begin
    return convert_from(content, 'UTF8')::jsonb::text;
  exception when others then -- it is no JSON
  end;
  return convert_from(content, 'UTF8');
exception when others then
  return encode(content, 'escape');
end $$;

-- Whether a text names somebody: their name_pattern, the last digits of their phone,
-- their mail address.
create or replace function names_them(words text, names text, phones text[], mails text[]) returns boolean language sql immutable as $$
  select words ~ names
    or exists (select from unnest(phones) p where regexp_replace(words, '[^0-9]', '', 'g') like '%' || p || '%')
    or exists (select from unnest(mails) m where position(m in lower(words)) > 0)
$$;

-- A JSON value with every text that names somebody blanked.
create or replace function unnamed(v jsonb, becomes text, names text, phones text[], mails text[]) returns jsonb language plpgsql immutable as $$
begin
  return case jsonb_typeof(v)
    when 'string' then case when public.names_them(v #>> '{}', names, phones, mails) then to_jsonb(becomes) else v end
    when 'array' then coalesce((select jsonb_agg(public.unnamed(x, becomes, names, phones, mails) order by n) from jsonb_array_elements(v) with ordinality a (x, n)), v)
    when 'object' then coalesce((select jsonb_object_agg(key, public.unnamed(value, becomes, names, phones, mails)) from jsonb_each(v)), v)
    else v end;
end $$;

-- Whether one JSON value is the other but for texts that were blanked.
create or replace function blanked(was jsonb, now jsonb, becomes text) returns boolean language plpgsql immutable as $$
begin
  return was = now or case when jsonb_typeof(was) is distinct from jsonb_typeof(now) then false else case jsonb_typeof(now)
    when 'string' then now = to_jsonb(becomes)
    when 'array' then jsonb_array_length(was) = jsonb_array_length(now)
      and (select bool_and(public.blanked(was -> n, now -> n, becomes)) from generate_series(0, jsonb_array_length(now) - 1) n)
    when 'object' then (select array_agg(k order by k) from jsonb_object_keys(was) k) = (select array_agg(k order by k) from jsonb_object_keys(now) k)
      and (select bool_and(public.blanked(was -> k, now -> k, becomes)) from jsonb_object_keys(now) k)
    else false end end;
end $$;

-- Whether a change of a row of an append-only table does nothing but blank words.
create or replace function only_blanked(t regclass, was jsonb, now jsonb) returns boolean language sql stable as $$
  select not exists (select from jsonb_each(now) n join jsonb_each(was) o using (key)
    where n.value is distinct from o.value and not exists (select from public.erasable() e
      join pg_catalog.pg_class c on c.oid = t and c.relname = e.tab
      where e.col = n.key and e.becomes is not null and public.blanked(o.value, n.value, e.becomes)))
$$;

-- Append-only tables refuse every change but one: inside erase_customer, which
-- alone runs as their owner for whoever serves, words are blanked.
create or replace function refuse_change() returns trigger language plpgsql as $$
begin
  if tg_op = 'UPDATE' and coalesce(current_setting('damperdesk.erasing', true), '') = 'on'
    and current_user = (select pg_get_userbyid(relowner) from pg_catalog.pg_class where oid = tg_relid)
    and public.only_blanked(tg_relid, to_jsonb(old), to_jsonb(new)) then
    return new;
  end if;
  raise exception 'table % is append-only', tg_table_name using errcode = 'restrict_violation';
end $$;

-- Blanks a customer with whoever was merged into them, and says so in the history
-- itself, so that nobody is erased unseen. Of somebody who is erased already it
-- does nothing. What forbids it beside an open job is asked by the program.
create or replace function erase_customer(who bigint, actor bigint, act uuid, moment timestamptz) returns void
language plpgsql security definer set search_path = pg_catalog, public, pg_temp as $$
declare
  customers bigint[]; visits bigint[]; jobs bigint[]; units bigint[]; had bigint[];
  names text; phones text[]; mails text[]; pictures integer; e record;
begin
  perform from customer where id = who or merged_into = who order by id for update;
  if not exists (select from customer where id = who and merged_into is null and erased_at is null) then
    return;
  end if;
  select array_agg(id order by id) into customers from customer where id = who or merged_into = who;
  select coalesce(array_agg(id), '{}') into visits from visit where customer_id = any (customers);
  select coalesce(array_agg(id), '{}') into jobs from job where visit_id = any (visits);
  select coalesce(array_agg(id), '{}') into units from unit where customer_id = any (customers);
  select array(select unnest(units) union select unit_id from job where id = any (jobs)
    union select unit_id from unit_sold where from_customer = any (customers) or to_customer = any (customers)) into had;
  if exists (select from job where closed_at is null and (id = any (jobs) or unit_id = any (units))) then
    raise exception 'customer % has an open job', who using errcode = 'check_violation', constraint = 'erase_open_job';
  end if;

  with known as (
    select name, phone_digits as phone, mail from customer where id = any (customers)
    union all select d->>'Name', regexp_replace(coalesce(d->>'Phone', ''), '[^0-9]', '', 'g'), coalesce(d->>'Mail', '')
      from customer_merge_words w join customer_merge m on m.id = w.merge_id, unnest(array[w.was, w.picked]) d
      where m.from_id = any (customers) or m.into_id = any (customers))
  select name_pattern(array_agg(name)),
    coalesce(array_agg(distinct right(phone, 9)) filter (where length(phone) >= 6), '{}'),
    coalesce(array_agg(distinct lower(mail)) filter (where mail <> ''), '{}') into names, phones, mails from known;

  insert into picture_gone (sha) select sha from picture where job_id = any (jobs) and sha <> ''
    union select thumb_sha from picture where job_id = any (jobs) and thumb_sha <> '' on conflict do nothing;
  select count(*) into pictures from picture where job_id = any (jobs) and sha <> '';

  perform set_config('damperdesk.erasing', 'on', true);
  for e in select tab, col, becomes, named, condition, atttypid = 'jsonb'::regtype as json from erasable() join erasable_rows() using (tab)
      join pg_attribute on attrelid = ('public.' || tab)::regclass and attname = col where becomes is not null and tab <> 'picture' loop
    execute case when e.json then format('update %I set %I = unnamed(%2$I, $5, $6, $7, $8) where %s', e.tab, e.col, e.condition)
        else format('update %I set %I = $5 where %s and %2$I not in ($5, '''')', e.tab, e.col, e.condition) end
      || case when e.named then format(' and names_them(%I::text, $6, $7, $8)', e.col) else '' end
      using customers, visits, jobs, had, e.becomes, names, phones, mails;
  end loop;
  update picture set sha = '', thumb_sha = '' where job_id = any (jobs) and sha <> '';
  perform set_config('damperdesk.erasing', '', true);

  update job set rider_kg = null where id = any (jobs);
  delete from customer_way where customer_id = any (customers);
  delete from book_file where customer_id = any (customers) or unit_id = any (units)
    or name ~* names or names_them(name || ' ' || words_in(content), names, phones, mails);
  update bike set version = version + 1 where customer_id = any (customers);
  update unit set words_key = '', frame_key = '', grams = '{}', keyed = 0, version = version + 1 where id = any (had);
  update customer_merge_words set was = '{}', picked = '{}'
    where merge_id in (select id from customer_merge where from_id = any (customers) or into_id = any (customers));
  update intent set fingerprint = '' where id in (select intent_id from event where customer_id = any (customers));
  update customer set name = 'erased customer ' || id, grams = '{}', erased_at = moment, version = version + 1 where id = any (customers);

  insert into event (at, actor_id, intent_id, subject_kind, subject_id, customer_id, kind, detail)
    values (moment, nullif(actor, 0), act, 'customer', who, who, 'customer erased', jsonb_build_object(
      'units', cardinality(units), 'visits', cardinality(visits), 'jobs', cardinality(jobs), 'pictures', pictures, 'merged', cardinality(customers) - 1));
end $$;
revoke execute on function erase_customer(bigint, bigint, uuid, timestamptz) from public;
