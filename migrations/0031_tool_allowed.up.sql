create table tool_allowed (
  id bigint generated always as identity primary key,
  step_id bigint not null references sheet_step,
  tool_id bigint not null references tool,
  reason text not null check (btrim(reason) <> ''),
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint tool_allowed_once unique (step_id, tool_id)
);
comment on table tool_allowed is 'bench, append-only: one row is the owner letting a torque tool that does not suit be used for one step, and why';

alter table tool add column lives text not null default '';
comment on column tool.lives is 'where it hangs when nobody uses it';
