alter table shop add column holidays_of text not null default '',
  add column reserve_percent integer not null default 15 check (reserve_percent between 0 and 80);
comment on column shop.holidays_of is 'the region whose public holidays it closes on, a code of the program''s list; empty: none';
comment on column shop.reserve_percent is 'share of each day at the bench that is promised to nobody: squeeze-ins and comebacks';

create table holiday_open (
  day date primary key
);
comment on table holiday_open is 'shop: one row is a public holiday on which the shop opens all the same';

create table rota (
  id bigint generated always as identity primary key,
  staff_id bigint not null references staff,
  from_day date not null,
  as_shop boolean not null,
  unique (staff_id, from_day)
);
comment on table rota is 'shop: one row is whose week at the bench changes from a day on: to the opening hours, or to the spans it has in rota_span';
create table rota_span (
  rota_id bigint not null references rota on delete cascade,
  weekday integer not null check (weekday between 0 and 6),
  from_min integer not null check (from_min between 0 and 1439),
  to_min integer not null check (to_min between 1 and 1440),
  primary key (rota_id, weekday, from_min),
  check (from_min < to_min)
);
comment on table rota_span is 'shop: one row is a span at the bench on a weekday (0 is Sunday), in minutes of the local day';

create table absence (
  id bigint generated always as identity primary key,
  staff_id bigint not null references staff,
  first_day date not null,
  last_day date not null,
  from_min integer not null check (from_min between 0 and 1439),
  to_min integer not null check (to_min between 1 and 1440),
  words text not null,
  check (first_day <= last_day),
  check (from_min < to_min)
);
comment on table absence is 'shop: one row is somebody away from the bench on a day or on days in a row, the same hours of each';
create index absence_last on absence (last_day);
