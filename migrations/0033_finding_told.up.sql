create table finding_told (
  id bigint generated always as identity primary key,
  finding_id bigint not null constraint finding_told_once unique references finding,
  told text not null check (btrim(told) <> ''),
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table finding_told is 'bench, append-only: one row says who was told, as the unit left, of a finding that it is not to be ridden';

create table finding_seen (
  id bigint generated always as identity primary key,
  finding_id bigint not null constraint finding_seen_once unique references finding,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table finding_seen is 'bench, append-only: one row says that an owner has seen what happened to a unit here';
