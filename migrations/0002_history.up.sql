create function refuse_change() returns trigger language plpgsql as $$
begin
  raise exception 'table % is append-only', tg_table_name using errcode = 'restrict_violation';
end $$;

create table intent (
  id uuid primary key,
  kind text not null check (kind <> ''),
  actor_id bigint references staff,
  fingerprint bytea not null,
  answer text,
  at timestamptz not null
);
comment on table intent is 'intent: one row is one act of one person; answer is where it led, null only inside its own transaction';

create table event (
  id bigint generated always as identity primary key,
  at timestamptz not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  subject_kind text not null check (subject_kind <> ''),
  subject_id bigint not null,
  customer_id bigint,
  unit_id bigint,
  job_id bigint,
  kind text not null check (kind <> ''),
  detail jsonb not null default '{}' check (jsonb_typeof(detail) = 'object')
);
comment on table event is 'history, append-only: one row is something that happened, in ids, codes and numbers, never names or free words';
create index event_customer on event (customer_id, id) where customer_id is not null;
create index event_unit on event (unit_id, id) where unit_id is not null;
create index event_job on event (job_id, id) where job_id is not null;
create index event_intent on event (intent_id);

create table event_chain (
  seq bigint primary key,
  event_id bigint not null unique references event,
  hash bytea not null
);
comment on table event_chain is 'history, append-only: one row seals one event with the SHA-256 over the seal before it and the event, in commit order';

-- The hash that seals an event on top of the seal before it. check uses the same function.
create function event_hash(previous bytea, e event) returns bytea language sql stable as $$
  select sha256(coalesce(previous, ''::bytea) || convert_to(jsonb_build_array(
    e.id, to_char(e.at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US'), e.actor_id, e.intent_id,
    e.subject_kind, e.subject_id, e.customer_id, e.unit_id, e.job_id, e.kind, e.detail)::text, 'UTF8'))
$$;

-- Runs at commit: one writer at a time seals, then wakes the pages that show the subject.
create function seal_event() returns trigger language plpgsql security definer set search_path = pg_catalog, public as $$
declare
  last event_chain;
begin
  perform pg_advisory_xact_lock(4711);
  select * into last from event_chain order by seq desc limit 1;
  insert into event_chain (seq, event_id, hash)
    values (coalesce(last.seq, 0) + 1, new.id, event_hash(last.hash, new));
  perform pg_notify('live', new.subject_kind || ':' || new.subject_id);
  if new.job_id is not null and new.subject_kind <> 'job' then
    perform pg_notify('live', 'job:' || new.job_id);
  end if;
  return null;
end $$;
create constraint trigger seal_event after insert on event
  deferrable initially deferred for each row execute function seal_event();
