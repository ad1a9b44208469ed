alter table shop add column stock_below_zero boolean not null default false;
comment on column shop.stock_below_zero is 'whether a part may be used that the ledger does not have, which then is a count to do';

create table supplier (
  id bigint generated always as identity primary key,
  name text not null check (btrim(name) <> ''),
  mail text not null default '',
  phone text not null default '',
  account text not null default '',
  note text not null default '',
  lead_days integer not null check (lead_days between 0 and 365),
  minimum_minor bigint check (minimum_minor between 0 and 100000000000),
  order_days smallint[] not null default '{}' check (order_days <@ '{1,2,3,4,5,6,7}'),
  left_on date,
  version integer not null default 1
);
comment on table supplier is 'stock: one row is somebody the shop buys from, with the days it promises for a delivery and its smallest order in the shop''s currency';
comment on column supplier.account is 'what the supplier knows the shop by';
comment on column supplier.order_days is 'the weekdays it takes orders on, Monday 1; empty: any';
create unique index supplier_name_once on supplier (lower(name));

create table item (
  id bigint generated always as identity primary key,
  code text not null check (btrim(code) <> ''),
  code_key text not null check (code_key <> ''),
  name text not null check (btrim(name) <> ''),
  kind text not null check (kind in ('wiper', 'foam ring', 'crush washer', 'seal set', 'bushing', 'cartridge', 'spring',
    'spacer', 'fluid', 'grease', 'consumable', 'other part')),
  measure text not null check (measure in ('each', 'volume', 'mass')),
  place text not null default '',
  barcode text not null default '',
  barcode_key text not null default '',
  sale_minor bigint check (sale_minor between 0 and 100000000000),
  tax_code text,
  low bigint check (low >= 0),
  high bigint check (high > 0),
  batched boolean not null default false,
  shelf_days integer check (shelf_days between 1 and 7300),
  opened_days integer check (opened_days between 1 and 7300),
  nu40 double precision check (nu40 between 1 and 10000),
  nu100 double precision check (nu100 between 0.5 and 1000),
  replaced_by bigint references item,
  left_on date,
  grams text[] not null default '{}',
  keyed integer not null default 0,
  version integer not null default 1,
  constraint item_low_high check (high >= coalesce(low, 0)),
  constraint item_not_its_own check (replaced_by <> id),
  constraint item_fluid check (kind in ('fluid', 'grease') or nu40 is null and nu100 is null and opened_days is null)
);
comment on table item is 'stock: one row is a part, fluid or consumable that the shop keeps; amounts of it are whole pieces, microlitres or milligrams by its measure';
comment on column item.code_key is 'the code as it is compared, without signs and capitals';
comment on column item.sale_minor is 'what a customer pays for a piece, a litre or a kilogram';
comment on column item.low is 'what it is ordered below, in its measure, as said by hand';
comment on column item.high is 'what it is filled up to';
comment on column item.shelf_days is 'how long it keeps closed, from its delivery';
comment on column item.opened_days is 'how long a bottle keeps once it is open';
create unique index item_code_once on item (code_key);
create unique index item_barcode_once on item (barcode_key) where barcode_key <> '';
create index item_place on item (place, code_key, id);
create index item_kind on item (kind, code_key, id);
create index item_grams on item using gin (grams);
create index item_keyed on item (keyed);
create index item_low on item (code_key) where low is not null;

create table item_model (
  item_id bigint not null references item,
  model_id bigint not null references model,
  primary key (item_id, model_id)
);
comment on table item_model is 'stock: one row is a model that an item fits; without any it fits whatever it is listed for';
create index item_model_model on item_model (model_id);

create table item_supplier (
  item_id bigint not null references item,
  supplier_id bigint not null references supplier,
  code text not null default '',
  code_key text not null default '',
  barcode text not null default '',
  barcode_key text not null default '',
  pack bigint not null check (pack > 0),
  price_minor bigint check (price_minor between 0 and 100000000000),
  first boolean not null default false,
  version integer not null default 1,
  primary key (item_id, supplier_id)
);
comment on table item_supplier is 'stock: one row is how an item is bought from a supplier: under which code, in packs of how much, and what a pack costs before tax';
comment on column item_supplier.first is 'whether it is ordered there unless somebody says otherwise';
create unique index item_supplier_first on item_supplier (item_id) where first;
create index item_supplier_code on item_supplier (code_key) where code_key <> '';
create index item_supplier_barcode on item_supplier (barcode_key) where barcode_key <> '';
create index item_supplier_supplier on item_supplier (supplier_id, item_id);

create table item_file (
  id bigint generated always as identity primary key,
  staff_id bigint not null unique references staff,
  name text not null,
  content bytea not null,
  at timestamptz not null
);
comment on table item_file is 'stock: one row is a CSV file of parts that a person brought and has not taken in yet; the next one takes its place';
