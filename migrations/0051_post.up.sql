alter table customer add column address text not null default '';
comment on column customer.address is 'where a parcel goes, as it is written on it';
create or replace view customer_now as
  select c.id, k.id as now_id, k.name, k.phone, k.mail, k.address
  from customer c join customer k on k.id = coalesce(c.merged_into, c.id);

alter table hand_over add column air_out boolean not null default false, add column unpaid boolean not null default false;
alter table hand_over add constraint hand_over_by_post check (how = 'sent back' or not (air_out or unpaid));
comment on column hand_over.air_out is 'sent with its air let out and a tag that says so';
comment on column hand_over.unpaid is 'sent though the visit was not settled; why stands in job_words';

alter table job_words add column carrier text not null default '', add column tracking text not null default '', add column unpaid_words text not null default '';
comment on column job_words.unpaid_words is 'why it was sent before it was paid';
