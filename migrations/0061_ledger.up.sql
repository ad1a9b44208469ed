create table batch (
  id bigint generated always as identity primary key,
  item_id bigint not null references item,
  code text not null check (btrim(code) <> ''),
  best_before date,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint batch_of_item unique (item_id, id),
  constraint batch_once unique (item_id, code)
);
comment on table batch is 'stock, append-only: one row is a batch of an item as it stands on what was delivered, with the last day it is good for';

create table opened (
  id bigint generated always as identity primary key,
  item_id bigint not null references item,
  batch_id bigint,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  foreign key (item_id, batch_id) references batch (item_id, id)
);
comment on table opened is 'stock, append-only: one row is a bottle or tin that was opened; the newest of an item is the one in use';
create index opened_item on opened (item_id, id desc);

create table balance (
  item_id bigint primary key references item,
  qty bigint not null default 0,
  value_minor bigint not null default 0,
  aside bigint not null default 0 check (aside >= 0),
  seq integer not null default 0 check (seq >= 0),
  paid_minor bigint not null default 0 check (paid_minor >= 0),
  paid_qty bigint not null default 0 check (paid_qty >= 0),
  constraint balance_worth check (qty = 0 and value_minor = 0 or qty > 0 and value_minor >= 0 or qty < 0 and value_minor <= 0)
);
comment on table balance is 'stock: one row is what the moves of an item come to: how much, what it is worth, how much of it is set aside, and what was paid last; written with each move and by nothing else';
comment on column balance.paid_qty is 'the amount that paid_minor was paid for; 0: never bought';
create index balance_below on balance (item_id) where qty < 0;
create index balance_none on balance (item_id) where qty = 0;
create index balance_aside on balance ((aside - greatest(qty, 0)));
create index balance_unpaid on balance (item_id) where paid_qty = 0;

create table move (
  id bigint generated always as identity primary key,
  item_id bigint not null references item,
  seq integer not null check (seq > 0),
  kind text not null check (kind in ('receive', 'use', 'return', 'send back', 'count', 'write-off', 'waste')),
  qty bigint not null check (qty <> 0),
  cost_minor bigint not null,
  value_minor bigint not null,
  qty_after bigint not null,
  value_after bigint not null,
  batch_id bigint,
  job_id bigint references job,
  step_id bigint references sheet_step,
  reverses bigint,
  reason text not null default '',
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint move_seq_once unique (item_id, seq),
  constraint move_of_item unique (item_id, id),
  constraint move_reverses_once unique (reverses),
  foreign key (item_id, reverses) references move (item_id, id),
  foreign key (item_id, batch_id) references batch (item_id, id),
  constraint move_direction check (reverses is not null
    or kind in ('receive', 'return') and qty > 0 or kind in ('use', 'send back', 'write-off', 'waste') and qty < 0 or kind = 'count'),
  constraint move_reason check (reason <> '' or kind not in ('write-off', 'waste', 'send back') and reverses is null)
);
comment on table move is 'stock, append-only: one row is an amount of an item that came in or went out, in the order of seq; what it came to is kept with it';
comment on column move.cost_minor is 'what it cost: what was paid for what comes in, and otherwise the share of the value of what lay there';
comment on column move.value_minor is 'what the value of the shelf changed by; it differs from the cost where more had gone out than there was, at a price that was not known yet';
create index move_job on move (job_id) where job_id is not null;
create index move_step on move (step_id) where step_id is not null;
create index move_batch on move (batch_id) include (qty) where batch_id is not null;
create index move_at on move (at, item_id);
