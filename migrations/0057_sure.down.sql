alter table shop drop column sure_percent;
