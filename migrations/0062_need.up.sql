create table parts_line (
  id bigint generated always as identity primary key,
  service_code text not null references service,
  model_id bigint references model,
  item_id bigint not null references item,
  step_key text not null default '',
  qty bigint not null check (qty > 0),
  must boolean not null,
  constraint parts_line_once unique nulls not distinct (service_code, model_id, step_key, item_id)
);
comment on table parts_line is 'partslist: one row is an item that a service takes, on one model or on any, and the step of the bench sheet that uses it';
comment on column parts_line.step_key is 'empty: none, it is used by hand';
comment on column parts_line.must is 'whether the work waits for it; else it is set aside if there is any, and used where the old one is not kept';
create index parts_line_item on parts_line (item_id);
create index parts_line_model on parts_line (model_id) where model_id is not null;

create table need (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  item_id bigint not null references item,
  step_key text not null default '',
  origin text not null check (origin in ('list', 'sheet', 'hand')),
  qty bigint not null check (qty > 0),
  aside bigint not null default 0 check (aside >= 0),
  used bigint not null default 0 check (used >= 0),
  unposted bigint not null default 0 check (unposted >= 0),
  must boolean not null,
  choice text not null default 'new' check (choice in ('new', 'kept', 'customer''s own')),
  condition text not null default '',
  instead_of bigint references item,
  version integer not null default 1,
  constraint need_once unique (job_id, item_id, step_key),
  constraint need_aside check (aside <= greatest(qty - used - unposted, 0) and (choice = 'new' or aside = 0))
);
comment on table need is 'partslist: one row is an item that a job wants at a step, how much of it lies aside for it, and how much was used';
comment on column need.unposted is 'what was used at the bench and could not be posted, because the ledger had none of it: it is to be counted';
comment on column need.instead_of is 'the item it takes the place of';
create index need_wanting on need (item_id) where choice = 'new' and aside + used + unposted < qty;
create index need_aside_of on need (item_id) where aside > 0;
create index need_unposted on need (job_id) where unposted > 0;

alter table hold add column for_needs boolean not null default false;
comment on column hold.for_needs is 'whether it waits for what its needs lack, and ends by itself once that lies aside';
