create table tool_state (
  id bigint generated always as identity primary key,
  tool_id bigint not null references tool,
  state text not null check (state in ('in use', 'away', 'withdrawn')),
  reason text not null check (btrim(reason) <> ''),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table tool_state is 'tool, append-only: one row is a change of the state of a torque tool, with its reason';
create index tool_state_tool on tool_state (tool_id);
