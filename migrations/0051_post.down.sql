alter table job_words drop column unpaid_words, drop column tracking, drop column carrier;
alter table hand_over drop constraint hand_over_by_post, drop column unpaid, drop column air_out;
drop view customer_now;
create view customer_now as
  select c.id, k.id as now_id, k.name, k.phone, k.mail
  from customer c join customer k on k.id = coalesce(c.merged_into, c.id);
comment on view customer_now is 'every customer as who they are now: what is joined by the id of a row that stays leads to whoever it was merged into';
alter table customer drop column address;
