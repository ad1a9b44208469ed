alter table hour_reading drop constraint hour_reading_kind, drop constraint hour_reading_kind_check, drop constraint hour_reading_hours_check;
alter table hour_reading
  add column on_day date,
  add column season text not null default 'all year' check (season in ('all year', 'in the season', 'off the season')),
  add column conditions text[] not null default '{}',
  add column indoor_hours double precision not null default 0 check (indoor_hours >= 0),
  add constraint hour_reading_kind_check check (kind in ('stated', 'habit', 'meter')),
  add constraint hour_reading_hours_check check (hours between 0 and 100000),
  add constraint hour_reading_kind check ((kind = 'habit') = (hours is null) and (kind = 'habit') = (rides_a_week is not null)
    and (rides_a_week is null) = (hours_a_ride is null) and (kind = 'meter') = (on_day is not null)),
  add constraint hour_reading_season_habit check (season = 'all year' or kind = 'habit'),
  add constraint hour_reading_indoors check (indoor_hours = 0 or kind <> 'habit' and indoor_hours <= hours),
  add constraint hour_reading_conditions check (conditions <@ array['dry', 'wet and gritty', 'bike park', 'e-bike', 'heavy rider']);
comment on table hour_reading is 'interval, append-only: one row is what was said of the riding of a unit: hours ridden from since until then, how often and how long it is ridden from since on, or the total that a meter showed on a day';
comment on column hour_reading.season is 'which part of the year a habit is of';
comment on column hour_reading.conditions is 'what it is ridden in; empty: not said. A weight itself stands with a job, where it can be erased';
comment on column hour_reading.indoor_hours is 'of the hours, or since the meter was last read, those on a trainer, which do not count';

create table ride_factor (
  kind text primary key check (kind in ('wet and gritty', 'bike park', 'e-bike', 'heavy rider', 'at most')),
  factor double precision not null check (factor between 1 and 3),
  version integer not null default 1
);
comment on table ride_factor is 'interval: one row says how many hours one of riding counts for in such conditions; at most is what all of them together may make of it';

create table unit_event (
  id bigint generated always as identity primary key,
  unit_id bigint not null references unit,
  kind text not null check (kind in ('stored', 'jet wash', 'under water', 'crash', 'new')),
  on_day date not null,
  until date,
  how text not null check (how in ('desk', 'page')),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint unit_event_until check ((kind = 'stored') = (until is not null) and (until is null or until >= on_day))
);
comment on table unit_event is 'interval, append-only: one row is something that happened to a unit outside the shop; of new, the day it was first ridden';
create index unit_event_unit on unit_event (unit_id, id);

create table event_rule (
  kind text not null check (kind in ('stored', 'jet wash', 'under water', 'crash', 'new', 'finding')),
  service_code text not null references service,
  days integer check (days between 0 and 366),
  months integer check (months between 1 and 120),
  hours integer check (hours between 1 and 2000),
  least_months integer not null default 0 check (least_months between 0 and 120),
  hint boolean not null default false,
  version integer not null default 1,
  primary key (kind, service_code),
  constraint event_rule_stored check (least_months = 0 or kind = 'stored'),
  constraint event_rule_hint check (not hint or days is null and months is null and hours is null)
);
comment on table event_rule is 'interval: one row says after how many days, months or ride hours a service is due once something has happened to a unit; a hint is only said; with none of them it never is';
comment on column event_rule.least_months is 'how long it was stored at least, for the rule to hold';

alter table shop
  add column season_from text not null default '' check (season_from ~ '^(|[01][0-9]-[0-3][0-9])$' and season_from <> '02-29'),
  add column season_to text not null default '' check (season_to ~ '^(|[01][0-9]-[0-3][0-9])$' and season_to <> '02-29'),
  add constraint shop_season check ((season_from = '') = (season_to = '') and (season_from = '' or season_from <> season_to));
comment on column shop.season_from is 'month and day on which the season begins that people ride in; empty: as the hemisphere has it';
comment on column shop.season_to is 'month and day it ends on, before season_from in the year where it spans the new year';
