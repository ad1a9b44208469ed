create table estimate (
  id bigint generated always as identity primary key,
  visit_id bigint not null constraint estimate_once unique references visit,
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  total_minor bigint not null check (total_minor >= 0),
  tax_minor bigint not null check (tax_minor between 0 and total_minor),
  tax_included boolean not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table estimate is 'bill, append-only: one row is what the services wanted were said to come to as a visit began, with its tax';
comment on column estimate.tax_included is 'whether the amounts of its lines hold their tax';

create table estimate_line (
  id bigint generated always as identity primary key,
  estimate_id bigint not null references estimate,
  job_id bigint not null references job,
  service_code text not null references service,
  words text not null check (btrim(words) <> ''),
  minor bigint check (minor >= 0),
  intent_id uuid not null references intent
);
comment on table estimate_line is 'bill, append-only: one row is a service of an estimate at the listed price; null: none was told';
create index estimate_line_estimate on estimate_line (estimate_id);
