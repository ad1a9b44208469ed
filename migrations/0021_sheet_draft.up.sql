alter table sheet add column version integer not null default 1;
alter table sheet add column checked_at timestamptz;
comment on column sheet.version is 'raised by each change of a draft';
create unique index sheet_one_draft on sheet (model_id) where state = 'draft';

alter table sheet_value add column entered text not null default '';
comment on column sheet_value.entered is 'the value with its window and unit as typed';

create table sheet_editor (
  sheet_id bigint not null references sheet,
  staff_id bigint not null references staff,
  primary key (sheet_id, staff_id)
);
comment on table sheet_editor is 'spec: one row is a person who wrote in a spec sheet, and so is not the second person who checks it';
insert into sheet_editor select id, drafted_by from sheet;
create trigger frozen before insert or update or delete on sheet_editor for each row execute function refuse_frozen_value();
alter table sheet_editor enable always trigger frozen;
