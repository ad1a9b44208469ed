create table ride_norm (
  one boolean primary key default true check (one),
  riders integer not null check (riders >= 0),
  rides double precision not null check (rides > 0),
  weeks double precision not null check (weeks > 0),
  ride_hours double precision not null check (ride_hours > 0),
  ride_shape double precision not null check (ride_shape > 0),
  spans integer not null check (spans >= 0),
  months double precision[] not null check (cardinality(months) = 12),
  fitted_on date not null
);
comment on table ride_norm is 'interval: the one row is what the riders of the shop have in common: how often they ride, how long, and in which months';
comment on column ride_norm.riders is 'units with counted hours that it comes from';
comment on column ride_norm.rides is 'a rider of whom nothing was counted is as if so many rides had been counted in so many weeks';
comment on column ride_norm.spans is 'counted spans that the months come from';
comment on column ride_norm.months is 'from January: how much is ridden on a day of it, of the mean day of a year';

create table due (
  unit_id bigint not null references unit on delete cascade,
  service_code text references service,
  open_job bigint references job,
  by text check (by in ('hours', 'months', 'season', 'stored', 'jet wash', 'under water', 'crash', 'new', 'finding')),
  soon_on date,
  due_on date,
  overdue_on date,
  wants text not null default '' check (wants in ('', 'service', 'riding')),
  event_on date,
  ready_on date,
  left_on date,
  hours_limit integer check (hours_limit > 0),
  months_limit integer check (months_limit > 0),
  hours double precision not null default 0 check (hours >= 0),
  counted_on date,
  low_on date,
  median_on date,
  high_on date,
  date_on date,
  date_by text check (date_by in ('months', 'season', 'stored', 'jet wash', 'under water', 'crash', 'new', 'finding')),
  behind datemultirange not null default '{}',
  reckoned_on date not null,
  constraint due_once unique nulls not distinct (unit_id, service_code),
  constraint due_in_order check (soon_on <= due_on and due_on <= overdue_on),
  constraint due_band check (low_on <= median_on and median_on <= high_on),
  check ((by is null) = (due_on is null)),
  check ((date_by is null) = (date_on is null)),
  check (service_code is not null or wants = 'service'),
  check ((ready_on is null) = (left_on is null))
);
comment on table due is 'due: one row is when a service that a unit has had here comes due again, or that something that happened to it asks for, reckoned from what is kept elsewhere; a unit without any has one without a service';
comment on column due.by is 'the limit that comes first; null: none ever does';
comment on column due.soon_on is 'the state of a day follows from these three; before them it is unknown where something is wanted, else fine';
comment on column due.wants is 'what would make it known: a service here, or how much it is ridden';
comment on column due.event_on is 'the day of what happened that is the limit that comes first';
comment on column due.hours is 'used from left_on to counted_on';
comment on column due.median_on is 'when the hours are ridden, as likely before as after; four in five are ridden from low_on to high_on; null: nobody lives to see it';
comment on column due.date_on is 'the first limit that comes whatever is ridden';
comment on column due.behind is 'days on which a service that covers this one is at least as urgent, so that nobody is rung for this one';
create index due_service on due (service_code, due_on);
create index due_order on due (due_on, unit_id, service_code);
create index due_open_job on due (open_job) where open_job is not null;

create table due_stale (
  tx bigint not null,
  unit_id bigint not null,
  at timestamptz not null default now(),
  primary key (tx, unit_id)
);
comment on table due_stale is 'due: one row is a unit that a transaction touched and that is to be reckoned again; triggers write it';

create table due_scan (
  day date primary key,
  behind bigint not null default 0,
  units integer not null default 0,
  began_at timestamptz not null,
  finished_at timestamptz
);
comment on table due_scan is 'due: one row is the reckoning of all units on a day, and up to which unit it has come';

create table due_backtest (
  one boolean primary key default true check (one),
  forecasts integer not null check (forecasts >= 0),
  inside integer not null check (inside between 0 and forecasts),
  off_days double precision,
  since date not null,
  until date not null
);
comment on table due_backtest is 'due: the one row is how the forecasts of the year before came true';

create function due_touch() returns trigger language plpgsql as $$
begin
  insert into due_stale (tx, unit_id) select distinct txid_current(), unit_id from changed where unit_id is not null
    on conflict do nothing;
  return null;
end $$;
comment on function due_touch() is 'marks the units of the changed rows of a table with a unit_id';
create trigger due_touch after insert on hour_reading referencing new table as changed for each statement execute function due_touch();
create trigger due_touch after insert on unit_inside referencing new table as changed for each statement execute function due_touch();
create trigger due_touch after insert on unit_event referencing new table as changed for each statement execute function due_touch();
create trigger due_touch_new after insert on job referencing new table as changed for each statement execute function due_touch();
create trigger due_touch_gone after delete on job referencing old table as changed for each statement execute function due_touch();

create function due_touch_jobs() returns trigger language plpgsql as $$
begin
  insert into due_stale (tx, unit_id) select distinct txid_current(), j.unit_id from changed s join job j on j.id = s.job_id
    on conflict do nothing;
  return null;
end $$;
create trigger due_touch_new after insert on job_service referencing new table as changed for each statement execute function due_touch_jobs();
create trigger due_touch_gone after delete on job_service referencing old table as changed for each statement execute function due_touch_jobs();

create trigger due_touch after insert on finding referencing new table as changed for each statement execute function due_touch_jobs();

create function due_touch_findings() returns trigger language plpgsql as $$
begin
  insert into due_stale (tx, unit_id) select distinct txid_current(), j.unit_id from changed w join finding f on f.id = w.finding_id join job j on j.id = f.job_id
    on conflict do nothing;
  return null;
end $$;
create trigger due_touch after insert on finding_answer referencing new table as changed for each statement execute function due_touch_findings();

create function due_touch_units() returns trigger language plpgsql as $$
begin
  insert into due_stale (tx, unit_id) select txid_current(), id from changed on conflict do nothing;
  return null;
end $$;
create trigger due_touch_new after insert on unit referencing new table as changed for each statement execute function due_touch_units();

create function due_touch_models() returns trigger language plpgsql as $$
begin
  insert into due_stale (tx, unit_id) select distinct txid_current(), u.id from changed c join unit u on c.model_id is null or c.model_id = u.model_id
    on conflict do nothing;
  return null;
end $$;
comment on function due_touch_models() is 'marks the units of the models of the changed rows, all units where a row is of no model';
create trigger due_touch_new after insert on interval_rule referencing new table as changed for each statement execute function due_touch_models();
create trigger due_touch after update on interval_rule referencing new table as changed for each statement execute function due_touch_models();
create trigger due_touch_gone after delete on interval_rule referencing old table as changed for each statement execute function due_touch_models();
create trigger due_touch_new after insert on sheet referencing new table as changed for each statement execute function due_touch_models();

create function due_touch_where() returns trigger language plpgsql as $$
begin
  execute 'insert into due_stale (tx, unit_id) select txid_current(), id from unit where ' || tg_argv[0] || ' on conflict do nothing' using old, new;
  return null;
end $$;
comment on function due_touch_where() is 'marks the units of a condition on a row as it was ($1) and is ($2)';
create trigger due_touch after update on job for each row
  when ((old.unit_id, old.ending, old.closed_at, old.ebike, old.rider_kg) is distinct from (new.unit_id, new.ending, new.closed_at, new.ebike, new.rider_kg)
    or new.closed_at is not null and old.ready_at is distinct from new.ready_at)
  execute function due_touch_where('id in ($1.unit_id, $2.unit_id)');
create trigger due_touch after update on unit for each row
  when ((old.kind, old.model_id) is distinct from (new.kind, new.model_id)) execute function due_touch_where('id = $2.id');
create trigger due_touch after update on sheet for each row
  when (old.state <> new.state and 'current' in (old.state, new.state)) execute function due_touch_where('model_id = $2.model_id');
create trigger due_touch after update on model for each row
  when (old.spring <> new.spring) execute function due_touch_where('model_id = $2.id');
create trigger due_touch after update on service for each row
  when ((old.kinds, old.covers, old.seq) is distinct from (new.kinds, new.covers, new.seq)) execute function due_touch_where('true');
create trigger due_touch after update on shop for each row
  when ((old.zone, old.hemisphere, old.season_from, old.season_to) is distinct from (new.zone, new.hemisphere, new.season_from, new.season_to)) execute function due_touch_where('true');
create trigger due_touch_new after insert on shop for each row execute function due_touch_where('true');
create trigger due_touch after insert or update or delete on ride_factor for each row execute function due_touch_where('true');
create trigger due_touch after insert or update or delete on event_rule for each row execute function due_touch_where('true');
