drop table wait_begun;
alter table sheet_step drop column fasteners, drop column minutes;
alter table step drop column fasteners, drop column minutes;
