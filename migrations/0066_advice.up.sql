create table advice_setting (
  one boolean primary key default true check (one),
  service_a double precision not null check (service_a between 50 and 99.9),
  service_b double precision not null check (service_b between 50 and 99.9),
  service_c double precision not null check (service_c between 50 and 99.9),
  order_minor bigint not null check (order_minor between 1 and 100000000),
  hold_percent double precision not null check (hold_percent between 1 and 200),
  version integer not null default 1
);
comment on table advice_setting is 'advice: the one row is what the shop wants of its shelf: in how many of a hundred times nothing runs out before a delivery, by class of value, and what an order and the shelf cost';
comment on column advice_setting.order_minor is 'what it costs to order and unpack one item once, in the shop''s currency';
comment on column advice_setting.hold_percent is 'of its price, what an item costs that lies there for a year';

create table advice_run (
  id bigint generated always as identity primary key,
  asked_by bigint references staff,
  asked_at timestamptz not null,
  total integer check (total >= 0),
  done integer not null default 0 check (done >= 0),
  finished_at timestamptz,
  failed_at timestamptz,
  constraint advice_run_ended check (finished_at is null or failed_at is null)
);
comment on table advice_run is 'advice: one row is a reckoning of what to order of every item that is kept, and how far it is; those before the newest finished one go';
comment on column advice_run.asked_by is 'null: it came by the clock';
create unique index advice_run_open on advice_run ((true)) where finished_at is null and failed_at is null;

create table advice (
  run_id bigint not null references advice_run on delete cascade,
  item_id bigint not null references item,
  state text not null check (state in ('reckoned', 'sparse', 'no source', 'out of range')),
  low bigint check (low >= 0),
  high bigint check (high >= low),
  weeks integer not null check (weeks >= 0),
  empty_weeks integer not null check (empty_weeks between 0 and weeks),
  known_weeks integer not null default 0,
  need_weeks integer not null default 0,
  demands integer not null default 0,
  need_demands integer not null default 0,
  mean double precision not null default 0,
  model text not null default '',
  bar text not null default '',
  off double precision not null default 0,
  bar_off double precision not null default 0,
  lead_days double precision not null default 0,
  lead_variance double precision not null default 0,
  lead_n integer not null default 0,
  review_days integer not null default 0,
  class text not null default '' check (class in ('', 'A', 'B', 'C')),
  service double precision not null default 0,
  demand double precision not null default 0,
  demand_sd double precision not null default 0,
  batch bigint not null default 0,
  priced boolean not null default false,
  capped boolean not null default false,
  season_from date,
  season_until bigint,
  season_takes bigint,
  primary key (run_id, item_id),
  constraint advice_levels check ((state = 'reckoned') = (low is not null and high is not null)),
  constraint advice_season check ((season_from is null) = (season_takes is null) and (season_from is null) = (season_until is null))
);
comment on table advice is 'advice: one row is what a run made of the history of an item, with the figures it came from; amounts are in the smallest unit of its measure';
create index advice_season_from on advice (run_id, season_from) where season_from is not null;
create index advice_item on advice (item_id);
