drop table sheet_editor;
alter table sheet_value drop column entered;
drop index sheet_one_draft;
alter table sheet drop column checked_at, drop column version;
