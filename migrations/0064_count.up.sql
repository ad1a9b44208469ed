create table stock_count (
  id bigint generated always as identity primary key,
  chosen boolean not null,
  place text not null default '',
  state text not null default 'open' check (state in ('open', 'posted', 'dropped')),
  begun_by bigint references staff,
  begun_at timestamptz not null,
  ended_by bigint references staff,
  ended_at timestamptz,
  constraint stock_count_place check (not chosen or place = ''),
  constraint stock_count_ended check ((state = 'open') = (ended_at is null))
);
comment on table stock_count is 'stock: one row is a count of a place on the shelf, or of chosen items; posted once an owner approved its differences';
comment on column stock_count.place is 'that of the items; empty where they are chosen, or have no place';
create unique index stock_count_one_open on stock_count (place) where state = 'open' and not chosen;

create table count_item (
  count_id bigint not null references stock_count,
  item_id bigint not null references item,
  found boolean not null default false,
  primary key (count_id, item_id)
);
comment on table count_item is 'stock: one row is an item that is to be counted in a count';
comment on column count_item.found is 'whether it was met there, without being kept there';
create index count_item_item on count_item (item_id);

create table count_line (
  id bigint generated always as identity primary key,
  count_id bigint not null,
  item_id bigint not null,
  counted bigint not null check (counted >= 0),
  seq integer not null check (seq >= 0),
  ledger bigint not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint count_line_of_item unique (item_id, id),
  foreign key (count_id, item_id) references count_item (count_id, item_id)
);
comment on table count_line is 'stock, append-only: one row is how much somebody counted of an item; the last of an item in a count is the one that counts';
comment on column count_line.seq is 'the last move of the item at that moment';
comment on column count_line.ledger is 'what the ledger said after it';
create index count_line_count on count_line (count_id, item_id, id desc);

alter table move add column count_line_id bigint;
alter table move add constraint move_count_line foreign key (item_id, count_line_id) references count_line (item_id, id),
  add constraint move_counted check (count_line_id is null or kind = 'count' and reverses is null);
create unique index move_count_line_once on move (count_line_id) where count_line_id is not null;

create table waste (
  id bigint generated always as identity primary key,
  kind text not null check (kind in ('used oil', 'used damper fluid', 'used solvent', 'rags and filters', 'spray cans and tins')),
  amount bigint not null,
  container text not null default '',
  job_id bigint references job,
  reverses bigint references waste constraint waste_reverses_once unique,
  reason text not null default '',
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint waste_direction check (reverses is null and amount > 0 or reverses is not null and amount < 0 and btrim(reason) <> '')
);
comment on table waste is 'stock, append-only: one row is used oil, fluid, solvent, rags or cans that were put into a container for the carrier';
comment on column waste.amount is 'microlitres, or milligrams of what is weighed';
create index waste_job on waste (job_id) where job_id is not null;
create index waste_at on waste (at);

create table waste_pickup (
  id bigint generated always as identity primary key,
  kind text not null check (kind in ('used oil', 'used damper fluid', 'used solvent', 'rags and filters', 'spray cans and tins')),
  amount bigint not null,
  carrier text not null check (btrim(carrier) <> ''),
  document text not null check (btrim(document) <> ''),
  taken_on date not null,
  reverses bigint references waste_pickup constraint waste_pickup_reverses_once unique,
  reason text not null default '',
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint waste_pickup_direction check (reverses is null and amount > 0 or reverses is not null and amount < 0 and btrim(reason) <> '')
);
comment on table waste_pickup is 'stock, append-only: one row is how much of one kind of waste a licensed carrier took away, by the number of the carrier''s document';
create index waste_pickup_on on waste_pickup (taken_on);

create index move_used on move (at) include (item_id, qty, cost_minor, job_id) where kind in ('use', 'return');
create index move_emptied on move (at) where qty_after <= 0 and qty_after - qty > 0;
