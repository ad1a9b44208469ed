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
drop function if exists only_blanked(regclass, jsonb, jsonb), erasable(), erasable_rows(), names_them(text, text, text[], text[]);
