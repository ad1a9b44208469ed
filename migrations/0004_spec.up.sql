create table model (
  id bigint generated always as identity primary key,
  kind text not null check (kind in ('fork', 'rear shock', 'seatpost')),
  maker text not null check (btrim(maker) <> ''),
  name text not null check (btrim(name) <> ''),
  years text not null default '',
  travel_mm integer check (travel_mm between 1 and 400),
  spring text not null check (spring in ('air', 'coil', 'none')),
  damper text not null check (damper in ('shared oil', 'sealed', 'cartridge', 'none')),
  spring_leg text check (spring_leg in ('left', 'right')),
  damper_leg text check (damper_leg in ('left', 'right')),
  lowers text not null default '' check (lowers in ('', 'arch front', 'arch back')),
  adjusters text[] not null default '{}' check (adjusters <@ array['rebound', 'compression', 'lockout']),
  version integer not null default 1,
  constraint model_once unique (maker, name, years)
);
comment on table model is 'spec: one row is a model of fork, rear shock or seatpost as its maker built it';

create table document (
  id bigint generated always as identity primary key,
  model_id bigint not null references model,
  title text not null check (btrim(title) <> ''),
  edition text not null default '',
  unique (id, model_id),
  constraint document_once unique (model_id, title, edition)
);
comment on table document is 'spec: one row is a publication of the maker that values are taken from';

create table sheet (
  id bigint generated always as identity primary key,
  model_id bigint not null references model,
  revision integer not null check (revision > 0),
  state text not null check (state in ('draft', 'checked', 'current', 'past')),
  drafted_by bigint not null references staff,
  checked_by bigint references staff,
  alone boolean not null default false,
  at timestamptz not null,
  unique (id, model_id),
  constraint sheet_revision_once unique (model_id, revision),
  constraint sheet_other_person check (checked_by is null or checked_by <> drafted_by or alone),
  constraint sheet_checked check (state = 'draft' or checked_by is not null)
);
comment on table sheet is 'spec: one row is a revision of the spec sheet of a model; frozen once it is no draft';
create unique index sheet_one_current on sheet (model_id) where state = 'current';

create table sheet_value (
  id bigint generated always as identity primary key,
  sheet_id bigint not null,
  model_id bigint not null,
  key text not null,
  place text not null default '',
  nominal_si double precision not null,
  minus_si double precision not null default 0 check (minus_si >= 0),
  plus_si double precision not null default 0 check (plus_si >= 0),
  shown_unit text not null,
  fluid text not null default '',
  source_kind text not null check (source_kind in ('document', 'measured', 'judgement')),
  document_id bigint,
  page text not null default '',
  source_words text not null default '',
  by_id bigint not null references staff,
  foreign key (sheet_id, model_id) references sheet (id, model_id),
  foreign key (document_id, model_id) references document (id, model_id),
  constraint sheet_value_once unique (sheet_id, key, place),
  constraint sheet_value_source check ((source_kind = 'document') = (document_id is not null)),
  constraint sheet_value_words check (source_kind <> 'judgement' or source_words <> '')
);
comment on table sheet_value is 'spec: one row is a value of a spec sheet in SI, its window, its unit as shown and where it comes from';
