create table setup_chart (
  sheet_id bigint primary key,
  model_id bigint not null,
  pressure_unit text not null,
  source_kind text not null check (source_kind in ('document', 'measured', 'judgement')),
  document_id bigint,
  page text not null default '',
  source_words text not null default '',
  by_id bigint not null references staff,
  foreign key (sheet_id, model_id) references sheet (id, model_id),
  foreign key (document_id, model_id) references document (id, model_id),
  constraint setup_chart_source check ((source_kind = 'document') = (document_id is not null)),
  constraint setup_chart_words check (source_kind <> 'judgement' or source_words <> '')
);
comment on table setup_chart is 'spec: one row is where the set-up chart of a spec sheet comes from';

create table setup_row (
  sheet_id bigint not null references setup_chart,
  rider_kg double precision not null check (rider_kg > 0),
  pressure_pa double precision check (pressure_pa >= 0),
  rebound integer check (rebound >= 0),
  compression integer check (compression >= 0),
  spacers integer check (spacers >= 0),
  primary key (sheet_id, rider_kg)
);
comment on table setup_row is 'spec: one row is what a set-up chart gives a rider of a mass with kit; counts are from closed';

create trigger frozen before insert or update or delete on setup_chart for each row execute function refuse_frozen_value();
alter table setup_chart enable always trigger frozen;
create trigger frozen before insert or update or delete on setup_row for each row execute function refuse_frozen_value();
alter table setup_row enable always trigger frozen;
