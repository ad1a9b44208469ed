alter table service drop column kinds;
