create table shop (
  id integer primary key default 1 check (id = 1),
  name text not null check (btrim(name) <> ''),
  address text not null default '',
  phone text not null default '',
  mail text not null default '',
  zone text not null,
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  hemisphere text not null check (hemisphere in ('north', 'south')),
  torque_unit text not null,
  volume_unit text not null,
  pressure_unit text not null,
  mass_unit text not null,
  version integer not null default 1
);
comment on table shop is 'shop: the one row is this shop, its zone, currency and the units it thinks in';

create table opening (
  weekday integer not null check (weekday between 0 and 6),
  open_min integer not null check (open_min between 0 and 1439),
  close_min integer not null check (close_min between 1 and 1440),
  primary key (weekday, open_min),
  check (open_min < close_min),
  constraint opening_no_overlap exclude using gist (int4range(weekday * 1440 + open_min, weekday * 1440 + close_min) with &&)
);
comment on table opening is 'shop: one row is a span the shop is open on a weekday (0 is Sunday), in minutes of the local day';

create table closure (
  day date not null,
  from_min integer not null default 0 check (from_min between 0 and 1439),
  to_min integer not null default 1440 check (to_min between 1 and 1440),
  primary key (day, from_min),
  check (from_min < to_min)
);
comment on table closure is 'shop: one row is a span of one day on which the shop is closed although it usually opens';

create table terms (
  id bigint generated always as identity primary key,
  words text not null check (btrim(words) <> ''),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table terms is 'shop, append-only: one row is an edition of the terms that customers accept; the newest is in force';
