alter table customer add column erased_at timestamptz;
comment on column customer.erased_at is 'when all that says who they are was blanked; null: never';

alter table shop add column erase_after_years integer check (erase_after_years between 1 and 30);
comment on column shop.erase_after_years is 'how many years after their last visit customers are erased; null: never by themselves';

alter table picture drop constraint picture_sha_check, drop constraint picture_thumb_sha_check,
  add constraint picture_sha_check check (sha = '' or sha ~ '^[0-9a-f]{64}$'),
  add constraint picture_thumb_sha_check check (thumb_sha = '' or thumb_sha ~ '^[0-9a-f]{64}$'),
  add constraint picture_erased check ((sha = '') = (thumb_sha = ''));
comment on column picture.sha is 'empty once its customer was erased; the row stays, as one that was taken';

create table picture_gone (
  sha text primary key check (sha ~ '^[0-9a-f]{64}$')
);
comment on table picture_gone is 'picture: one row is a file of a picture that was erased, which the next sweep removes with the row';

create table unit_sold (
  id bigint generated always as identity primary key,
  unit_id bigint not null references unit,
  from_customer bigint not null references customer,
  to_customer bigint not null references customer,
  on_day date not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  check (from_customer <> to_customer)
);
comment on table unit_sold is 'customer, append-only: one row is a unit that went to another owner; how it was ridden before that day, as a habit, ended on it';
create index unit_sold_unit on unit_sold (unit_id, id desc);
create index unit_sold_from on unit_sold (from_customer);
create index unit_sold_to on unit_sold (to_customer);

create trigger due_touch after insert on unit_sold referencing new table as changed for each statement execute function due_touch();

create or replace view put_off_now as
  select p.* from (select distinct on (unit_id, service_code) * from put_off order by unit_id, service_code, id desc) p
  where p.kind <> 'back' and not exists (select from job j where j.unit_id = p.unit_id and j.opened_at > p.at)
    and not exists (select from unit_sold s where s.unit_id = p.unit_id and s.at > p.at);
comment on view put_off_now is 'due: what stands of put_off: of each service of a unit the newest row, but for one that is over, or was written before the unit was last taken in or sold';

create trigger due_touch after update on customer for each row
  when (old.erased_at is distinct from new.erased_at) execute function due_touch_where('customer_id = $2.id');
