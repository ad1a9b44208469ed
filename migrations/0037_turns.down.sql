alter table model drop column positions;
alter table signoff drop constraint signoff_count;
alter table signoff alter column count type integer;
