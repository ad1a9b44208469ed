create table purchase (
  id bigint generated always as identity primary key,
  number integer not null check (number > 0),
  supplier_id bigint not null references supplier,
  state text not null default 'draft' check (state in ('draft', 'sent', 'part received', 'received', 'closed')),
  sent_at timestamptz,
  expected_on date,
  note text not null default '',
  made_by bigint references staff,
  made_at timestamptz not null,
  version integer not null default 1,
  constraint purchase_number_once unique (number),
  constraint purchase_sent check (state in ('draft', 'closed') or sent_at is not null and expected_on is not null),
  constraint purchase_draft check (state <> 'draft' or sent_at is null and expected_on is null)
);
comment on table purchase is 'order: one row is an order at a supplier, from its draft on; of one that is closed and was never sent the draft was thrown away';
comment on column purchase.version is 'of the order with its lines and the delivery that is being unpacked';
comment on column purchase.expected_on is 'the day the rest of it is expected, as reckoned when it was sent or as said since';
create unique index purchase_one_draft on purchase (supplier_id) where state = 'draft';
create index purchase_open on purchase (number) where state in ('draft', 'sent', 'part received');
create index purchase_over on purchase (number) where state in ('received', 'closed');
create index purchase_supplier on purchase (supplier_id, number);

create table purchase_state (
  id bigint generated always as identity primary key,
  purchase_id bigint not null references purchase,
  state text not null check (state in ('draft', 'sent', 'part received', 'received', 'closed')),
  reason text not null default '',
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint purchase_state_reason check (state <> 'closed' or btrim(reason) <> '')
);
comment on table purchase_state is 'order, append-only: one row is that an order came to a state; the last one is where it stands';
create index purchase_state_purchase on purchase_state (purchase_id, id);

create table purchase_line (
  id bigint generated always as identity primary key,
  purchase_id bigint not null references purchase,
  item_id bigint not null references item,
  job_id bigint references job,
  qty bigint not null check (qty >= 0),
  pack bigint not null check (pack > 0),
  price_minor bigint check (price_minor between 0 and 100000000000),
  constraint purchase_line_of_item unique (item_id, id),
  constraint purchase_line_once unique nulls not distinct (purchase_id, item_id, job_id)
);
comment on table purchase_line is 'order: one row is an amount of an item on an order, for a job where it was asked for by one; what came of it are its moves';
comment on column purchase_line.qty is 'in the smallest unit of its measure; 0: it came without being ordered';
comment on column purchase_line.price_minor is 'what a pack costs before tax as it was ordered';
create index purchase_line_job on purchase_line (job_id) where job_id is not null;

create table purchase_short (
  id bigint generated always as identity primary key,
  line_id bigint not null references purchase_line,
  kind text not null check (kind in ('short', 'wrong', 'broken')),
  words text not null default '',
  cancelled bigint not null check (cancelled >= 0),
  expected_on date,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint purchase_short_words check (btrim(words) <> '' or kind = 'short' and cancelled = 0),
  constraint purchase_short_awaited check (cancelled = 0 or expected_on is null)
);
comment on table purchase_short is 'order, append-only: one row is that a line came short, wrong or broken, and how much of it is not awaited any more';
create index purchase_short_line on purchase_short (line_id, id);

create table delivery (
  id bigint generated always as identity primary key,
  purchase_id bigint not null references purchase,
  begun_at timestamptz not null,
  shelved_at timestamptz,
  intent_id uuid references intent,
  constraint delivery_shelved check ((shelved_at is null) = (intent_id is null))
);
comment on table delivery is 'order: one row is what came of an order at once: kept while it is unpacked, then put on the shelf in one act';
create unique index delivery_one_open on delivery (purchase_id) where shelved_at is null;
create index delivery_purchase on delivery (purchase_id, shelved_at);

create table delivery_line (
  id bigint generated always as identity primary key,
  delivery_id bigint not null references delivery,
  item_id bigint not null references item,
  line_id bigint,
  qty bigint not null check (qty >= 0),
  price_minor bigint check (price_minor between 0 and 100000000000),
  keep_price boolean not null default false,
  batch text not null default '',
  best_before date,
  short text not null default '' check (short in ('', 'short', 'wrong', 'broken')),
  words text not null default '',
  cancel boolean not null default false,
  expected_on date,
  foreign key (item_id, line_id) references purchase_line (item_id, id)
);
comment on table delivery_line is 'order: one row is what was counted of an item in a delivery, of one batch; without a line it was not ordered';
create index delivery_line_delivery on delivery_line (delivery_id, id);

alter table move add column purchase_line_id bigint;
alter table move add constraint move_of_line foreign key (item_id, purchase_line_id) references purchase_line (item_id, id);
alter table move add constraint move_line_received check (purchase_line_id is null or kind = 'receive');
comment on column move.purchase_line_id is 'the line of an order that it came in for; what a line received is the sum of its moves';
create index move_line on move (purchase_line_id) include (qty) where purchase_line_id is not null;
create index item_low_free on item (id) include (low) where low is not null and left_on is null and replaced_by is null;
