drop table hour_reading;
delete from interval_rule where hours is null and months is null;
alter table interval_rule drop column season;
alter table interval_rule add constraint interval_rule_check check (hours is not null or months is not null);
