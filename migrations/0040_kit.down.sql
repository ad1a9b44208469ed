alter table signoff drop column instrument;
alter table sheet_step drop column parts, drop column tools;
alter table step drop column parts, drop column tools;
