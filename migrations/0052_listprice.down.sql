drop table hourly_rate;
alter table price disable trigger append_only;
delete from price where model_id is not null or by_time;
alter table price enable always trigger append_only;
alter table price drop constraint price_by_time, drop constraint price_version_once,
  drop column model_id, drop column by_time,
  add constraint price_version_once unique (service_code, version);
comment on table price is 'bill, append-only: one row is a version of the price of a service; the highest is in force, null is no price';
