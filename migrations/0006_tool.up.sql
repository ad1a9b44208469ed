create table tool (
  id bigint generated always as identity primary key,
  name text not null check (btrim(name) <> ''),
  kind text not null check (kind in ('click wrench', 'click screwdriver', 'beam wrench', 'dial wrench', 'electronic wrench')),
  range_min_nm double precision not null check (range_min_nm > 0),
  range_max_nm double precision not null,
  unit text not null,
  graduation double precision not null check (graduation > 0),
  serial text not null default '',
  state text not null default 'in use' check (state in ('in use', 'away', 'withdrawn')),
  version integer not null default 1,
  check (range_min_nm < range_max_nm)
);
comment on table tool is 'tool: one row is a torque tool, its range in N·m, the unit on its scale and the graduation in that unit';
create unique index tool_name_once on tool (lower(name));

create table calibration (
  id bigint generated always as identity primary key,
  tool_id bigint not null references tool,
  done_on date not null,
  certificate text not null default '',
  passed boolean not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table calibration is 'tool, append-only: one row is one calibration of a torque tool';
create index calibration_tool on calibration (tool_id, done_on desc);
