create table sheet_step (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  seq integer not null check (seq > 0),
  block text not null,
  block_title text not null,
  key text not null,
  kind text not null check (kind in ('check', 'torque', 'volume', 'reading', 'count', 'wait', 'fit', 'picture')),
  title text not null,
  text text not null,
  caution text not null default '',
  place text not null default '',
  spec_key text not null default '',
  quantity text not null default '',
  nominal_si double precision,
  minus_si double precision not null default 0,
  plus_si double precision not null default 0,
  shown_unit text not null default '',
  fluid text not null default '',
  source text not null default '',
  grades text[] not null default '{}',
  grp text not null default '',
  stop_here boolean not null default false,
  second_check boolean not null default false,
  may_be_unknown boolean not null default false,
  step_id bigint references step,
  sheet_value_id bigint references sheet_value,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, job_id),
  constraint sheet_step_seq_once unique (job_id, seq),
  constraint sheet_step_key_once unique (job_id, key),
  constraint sheet_step_sourced check (nominal_si is null or source <> '')
);
comment on table sheet_step is 'bench, append-only: one row is a step of one job, copied and filled when work starts so that an old job never changes';

create table step_value (
  id bigint generated always as identity primary key,
  step_id bigint not null references sheet_step,
  nominal_si double precision not null,
  minus_si double precision not null default 0 check (minus_si >= 0),
  plus_si double precision not null default 0 check (plus_si >= 0),
  entered text not null,
  shown_unit text not null,
  fluid text not null default '',
  source_kind text not null check (source_kind in ('document', 'measured', 'judgement')),
  source text not null check (btrim(source) <> ''),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table step_value is 'bench, append-only: one row is a value and its source given at the bench for a step whose spec sheet had none; the newest counts';
create index step_value_step on step_value (step_id, id desc);

create table signoff (
  id bigint generated always as identity primary key,
  step_id bigint not null references sheet_step,
  role text not null check (role in ('done', 'checked')),
  outcome text not null default 'done' check (outcome in ('done', 'does not apply', 'unknown')),
  how text not null check (how in ('set', 'measured', 'by hand', 'seen', 'paper', 'afterwards')),
  value_si double precision,
  count integer,
  grade text not null default '',
  entered text not null default '',
  shown_unit text not null default '',
  tool_id bigint references tool,
  fluid text not null default '',
  in_window boolean not null default true,
  reason text not null default '',
  together uuid,
  replaces bigint,
  of_id bigint,
  of_actor_id bigint,
  alone boolean not null default false,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, step_id, role),
  unique (id, step_id, actor_id),
  constraint signoff_replaces_once unique (replaces),
  constraint signoff_of foreign key (of_id, step_id, of_actor_id) references signoff (id, step_id, actor_id),
  constraint signoff_other_person check (role = 'done' or (of_id is not null and of_actor_id is not null and (actor_id <> of_actor_id or alone))),
  constraint signoff_reason check ((in_window and outcome <> 'does not apply') or btrim(reason) <> '')
);
comment on table signoff is 'bench, append-only: one row is a person stating that a step is done or checked, with what was set or measured';
create unique index signoff_first on signoff (step_id, role) where replaces is null;

create table cross_out (
  id bigint generated always as identity primary key,
  signoff_id bigint not null constraint cross_out_once unique,
  step_id bigint not null,
  role text not null,
  reason text not null check (btrim(reason) <> ''),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, step_id, role),
  foreign key (signoff_id, step_id, role) references signoff (id, step_id, role)
);
comment on table cross_out is 'bench, append-only: one row answers a wrong sign-off with a reason and leaves the original';
alter table signoff add constraint signoff_replaces foreign key (replaces, step_id, role) references cross_out (id, step_id, role);
create index signoff_step on signoff (step_id);
