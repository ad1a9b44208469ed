drop table absence, rota_span, rota, holiday_open;
alter table shop drop column reserve_percent, drop column holidays_of;
