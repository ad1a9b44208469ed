-- merged_into is always somebody who is not merged: whoever was merged into a
-- customer that is merged in turn goes along, so that one step leads there.
alter table customer add column merged_into bigint references customer
  constraint customer_merged_elsewhere check (merged_into <> id);
create index customer_merged on customer (merged_into) where merged_into is not null;
comment on table customer is 'customer: one row is a person who brings units; what ends in _key is folded for finding, grams are the trigrams of all keys, keyed is the revision of the rules they were made by; merged_into is who they were found to be, and has their units since';

create function customer_merged_once() returns trigger language plpgsql as $$
begin
  perform from customer where id = new.merged_into and merged_into is null for no key update;
  if not found or exists (select from customer where merged_into = new.id) then
    raise exception 'a merge leads to somebody who is merged' using errcode = 'check_violation', constraint = 'customer_merged_once';
  end if;
  return new;
end $$;
create trigger customer_merged_once before insert or update of merged_into on customer
  for each row when (new.merged_into is not null) execute function customer_merged_once();

create view customer_now as
  select c.id, k.id as now_id, k.name, k.phone, k.mail
  from customer c join customer k on k.id = coalesce(c.merged_into, c.id);
comment on view customer_now is 'every customer as who they are now: what is joined by the id of a row that stays leads to whoever it was merged into';

-- A bike takes its units along.
alter table unit drop constraint unit_bike_id_customer_id_fkey,
  add constraint unit_bike_of_customer foreign key (bike_id, customer_id) references bike (id, customer_id) on update cascade;

create table customer_merge (
  id bigint generated always as identity primary key,
  from_id bigint not null references customer,
  into_id bigint not null references customer,
  units bigint[] not null,
  bikes bigint[] not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  check (from_id <> into_id)
);
comment on table customer_merge is 'customer, append-only: one row is a customer found to be another one, and which units and bikes went over';
create index customer_merge_into on customer_merge (into_id);
create index customer_merge_from on customer_merge (from_id);

create table customer_merge_undone (
  id bigint generated always as identity primary key,
  merge_id bigint not null constraint customer_merge_undone_once unique references customer_merge,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table customer_merge_undone is 'customer, append-only: one row takes a merge back';

create table customer_merge_words (
  merge_id bigint primary key references customer_merge,
  was jsonb not null,
  picked jsonb not null
);
comment on table customer_merge_words is 'customer: one row is the details of whoever was kept, as they were before a merge and as they were picked then, apart so that they can be erased';
