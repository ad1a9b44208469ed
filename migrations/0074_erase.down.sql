drop trigger due_touch on customer;
create or replace view put_off_now as
  select p.* from (select distinct on (unit_id, service_code) * from put_off order by unit_id, service_code, id desc) p
  where p.kind <> 'back' and not exists (select from job j where j.unit_id = p.unit_id and j.opened_at > p.at);
comment on view put_off_now is 'due: what stands of put_off: of each service of a unit the newest row, but for one that is over, or was written before the unit was last taken in';
drop table unit_sold;
drop table picture_gone;
-- Rows of erased pictures keep no hash, and stay so.
alter table picture drop constraint picture_erased, drop constraint picture_thumb_sha_check, drop constraint picture_sha_check;
alter table picture
  add constraint picture_sha_check check (sha ~ '^[0-9a-f]{64}$') not valid,
  add constraint picture_thumb_sha_check check (thumb_sha ~ '^[0-9a-f]{64}$') not valid;
alter table shop drop column erase_after_years;
alter table customer drop column erased_at;
drop function if exists erase_customer(bigint, bigint, uuid, timestamptz);
create or replace function refuse_change() returns trigger language plpgsql as $$
begin
  raise exception 'table % is append-only', tg_table_name using errcode = 'restrict_violation';
end $$;
drop function if exists only_blanked(regclass, jsonb, jsonb), blanked(jsonb, jsonb, text), unnamed(jsonb, text, text, text[], text[]), erasable(), erasable_rows(), names_them(text, text, text[], text[]);
