create table promise (
  id bigint generated always as identity primary key,
  visit_id bigint not null references visit,
  promised_at timestamptz not null,
  how text not null check (how in ('as proposed', 'earlier', 'later', 'same day', 'by hand')),
  reason text not null default '',
  expected_at timestamptz,
  proposed_at timestamptz,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint promise_by_hand check ((how = 'by hand') = (proposed_at is null))
);
comment on table promise is 'job, append-only: one row is a ready-by given to a customer at drop-off or moved to later, with when the line-up expected the work to be ready and what it proposed; the newest counts';
create index promise_visit on promise (visit_id, id);
