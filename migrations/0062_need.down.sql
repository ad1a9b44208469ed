alter table hold drop column for_needs;
drop table need;
drop table parts_line;
