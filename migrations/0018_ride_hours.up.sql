alter table interval_rule drop constraint interval_rule_check;
alter table interval_rule add column season boolean not null default false;
comment on table interval_rule is 'interval: one row says after how many ride hours or months, or whether once each off-season, a service is due again, for a model or for all; none of the three: it never is by itself';

create table hour_reading (
  id bigint generated always as identity primary key,
  unit_id bigint not null references unit,
  kind text not null check (kind in ('stated', 'habit')),
  hours double precision check (hours between 0 and 10000),
  rides_a_week double precision check (rides_a_week between 0 and 50),
  hours_a_ride double precision check (hours_a_ride between 0 and 24),
  since date,
  source text not null check (source in ('rider', 'bike computer', 'our estimate')),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint hour_reading_kind check ((kind = 'stated') = (hours is not null)
    and (kind = 'habit') = (rides_a_week is not null) and (rides_a_week is null) = (hours_a_ride is null))
);
comment on table hour_reading is 'interval, append-only: one row is what was said of the riding of a unit: hours ridden from since until then, or how often and how long it is ridden from since on';
comment on column hour_reading.since is 'stated: null where nobody knows from when the hours count; habit: null for as long as anybody remembers';
create index hour_reading_unit on hour_reading (unit_id, id);
