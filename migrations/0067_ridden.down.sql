alter table shop drop constraint shop_season, drop column season_from, drop column season_to;
drop table event_rule, unit_event, ride_factor;
alter table hour_reading disable trigger append_only;
delete from hour_reading where kind = 'meter' or hours > 10000;
alter table hour_reading enable always trigger append_only;
alter table hour_reading drop constraint hour_reading_kind, drop constraint hour_reading_kind_check, drop constraint hour_reading_hours_check,
  drop constraint hour_reading_season_habit, drop constraint hour_reading_indoors, drop constraint hour_reading_conditions;
alter table hour_reading drop column on_day, drop column season, drop column conditions, drop column indoor_hours;
alter table hour_reading
  add constraint hour_reading_kind_check check (kind in ('stated', 'habit')),
  add constraint hour_reading_hours_check check (hours between 0 and 10000),
  add constraint hour_reading_kind check ((kind = 'stated') = (hours is not null)
    and (kind = 'habit') = (rides_a_week is not null) and (rides_a_week is null) = (hours_a_ride is null));
comment on table hour_reading is 'interval, append-only: one row is what was said of the riding of a unit: hours ridden from since until then, or how often and how long it is ridden from since on';
