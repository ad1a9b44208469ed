alter table calibration
  add column share double precision check (share > 0 and share <= 0.25),
  add column set_nm double precision[] not null default '{}' check (0 < all (set_nm)),
  add column reference_nm double precision[] not null default '{}' check (0 < all (reference_nm)),
  add check (cardinality(set_nm) = cardinality(reference_nm));
comment on table calibration is 'tool, append-only: one row is one calibration of a torque tool, with the permissible deviation and the points of its certificate as far as they were typed';

create table tool_mishap (
  id bigint generated always as identity primary key,
  tool_id bigint not null references tool,
  kind text not null check (kind in ('dropped', 'overloaded')),
  words text not null default '',
  happened_on date not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table tool_mishap is 'tool, append-only: one row is a fall or an overload, after which a torque tool serves for nothing until it is calibrated';
create index tool_mishap_tool on tool_mishap (tool_id);

create table tool_limit (
  kind text not null,
  small boolean not null,
  share double precision not null check (share > 0 and share <= 0.25),
  version integer not null default 1,
  primary key (kind, small)
);
comment on table tool_limit is 'tool: one row is what tools of a kind, those up to 10 N·m or those above, may be off as the owner confirmed it; without one the default that nobody confirmed holds';

create index signoff_tool on signoff (tool_id, at) where tool_id is not null;
