alter table price add column model_id bigint references model,
  add column by_time boolean not null default false,
  drop constraint price_version_once,
  add constraint price_version_once unique nulls not distinct (service_code, model_id, version),
  add constraint price_by_time check (not by_time or minor is null and tax_code is not null);
comment on table price is 'bill, append-only: one row is a version of the price of a service, on one model or on any; the highest is in force, and without a price the one on any model is';
comment on column price.model_id is 'null: any model that has no price of its own';
comment on column price.by_time is 'whether it is the book time at the hourly rate, in place of an amount';

create table hourly_rate (
  id bigint generated always as identity primary key,
  version integer not null check (version > 0),
  minor bigint check (minor between 0 and 100000000000),
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint hourly_rate_version_once unique (version)
);
comment on table hourly_rate is 'bill, append-only: one row is a version of what an hour at the bench costs; the highest is in force, null is none';
