create table visit (
  id bigint generated always as identity primary key,
  customer_id bigint not null references customer,
  promised_at timestamptz not null,
  came text not null check (came in ('counter', 'post', 'other shop')),
  goes_back text not null check (goes_back in ('pickup', 'post')),
  limit_minor bigint check (limit_minor >= 0),
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  terms_id bigint references terms,
  opened_at timestamptz not null,
  version integer not null default 1
);
comment on table visit is 'job: one row is a customer bringing one or several units, with one ready-by; no limit means ask for everything';
create index visit_customer on visit (customer_id, id);

create table visit_words (
  visit_id bigint primary key references visit,
  terms_by text not null default '',
  left_with text not null default ''
);
comment on table visit_words is 'job: free words of a visit, apart so that they can be erased';

create sequence job_number as integer start 1001;

create table job (
  id bigint generated always as identity primary key,
  number integer not null default nextval('job_number') constraint job_number_once unique,
  visit_id bigint not null references visit,
  unit_id bigint not null references unit,
  stage text not null check (stage in ('booked', 'dropped off', 'arrived', 'in the queue', 'on the bench', 'final check', 'ready for pickup', 'picked up', 'sent back', 'cancelled')),
  ending text check (ending in ('done', 'returned undone', 'returned in parts, not rideable', 'not worth repairing', 'no fault found', 'no parts', 'left for scrap')),
  mechanic_id bigint references staff,
  came_as text not null default 'unit only' check (came_as in ('unit only', 'unit and wheel', 'whole bike')),
  hangs_at text not null default '',
  rider_kg double precision check (rider_kg between 10 and 250),
  rider_entered text not null default '',
  riding text not null default '',
  ebike boolean not null default false,
  old_parts text not null default 'bin' check (old_parts in ('bin', 'give back')),
  opened_at timestamptz not null,
  started_at timestamptz,
  ready_at timestamptz,
  closed_at timestamptz,
  version integer not null default 1,
  constraint job_ending_when_closed check ((ending is null) = (closed_at is null)),
  constraint job_closed_stage check ((closed_at is not null) = (stage in ('picked up', 'sent back', 'cancelled')))
);
comment on table job is 'job: one row is one unit in one visit, with its ticket number and where it stands';
create unique index job_one_open_per_unit on job (unit_id) where closed_at is null;
create index job_visit on job (visit_id);
create index job_unit on job (unit_id, id);
create index job_open on job (id) where closed_at is null;

create table job_words (
  job_id bigint primary key references job,
  complaint text not null default '',
  rider_note text not null default '',
  taken_by text not null default '',
  ending_words text not null default ''
);
comment on table job_words is 'job: free words of a job, apart so that they can be erased';

create table job_symptom (
  job_id bigint not null references job,
  symptom text not null,
  primary key (job_id, symptom)
);
comment on table job_symptom is 'job: one row is a symptom of the trade list that the rider names';

create table job_service (
  job_id bigint not null references job,
  service_code text not null references service,
  origin text not null check (origin in ('drop-off', 'added')),
  primary key (job_id, service_code)
);
comment on table job_service is 'job: one row is a service wanted for a job and whether it was asked at drop-off or added later';

create table stage_change (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  seq integer not null check (seq > 0),
  stage text not null,
  reason text not null default '',
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint stage_change_seq_once unique (job_id, seq)
);
comment on table stage_change is 'job, append-only: one row is a job reaching a stage; the last one is where it stands';

create table hold (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  kind text not null check (kind in ('waiting on parts', 'waiting on customer', 'sent out')),
  tray text not null default '',
  expected_on date,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table hold is 'job, append-only: one row is a job beginning to wait; several kinds may hold at once';
create index hold_job on hold (job_id);

create table hold_end (
  id bigint generated always as identity primary key,
  hold_id bigint not null constraint hold_end_once unique references hold,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table hold_end is 'job, append-only: one row ends one hold';

create table hand_over (
  id bigint generated always as identity primary key,
  job_id bigint not null constraint hand_over_once unique references job,
  how text not null check (how in ('picked up', 'sent back')),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table hand_over is 'job, append-only: one row is a job leaving the shop, and who handed it over';
