create table unit_inside (
  id bigint generated always as identity primary key,
  unit_id bigint not null references unit,
  replaces bigint,
  spring text check (spring in ('air', 'coil', 'none')),
  damper text check (damper in ('shared oil', 'sealed', 'cartridge', 'none')),
  rate_n_m double precision check (rate_n_m > 0),
  rate_unit text not null default '',
  travel_mm integer check (travel_mm between 1 and 400),
  spacers integer check (spacers between 0 and 20),
  notes text not null default '',
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, unit_id),
  foreign key (replaces, unit_id) references unit_inside (id, unit_id),
  constraint unit_inside_once unique nulls not distinct (unit_id, replaces)
);
comment on table unit_inside is 'spec, append-only: one row is how a unit is inside as somebody found or built it; null is as its model says; the newest counts';

create table unit_value (
  id bigint generated always as identity primary key,
  unit_id bigint not null references unit,
  key text not null,
  place text not null default '',
  nominal_si double precision,
  minus_si double precision not null default 0 check (minus_si >= 0),
  plus_si double precision not null default 0 check (plus_si >= 0),
  shown_unit text not null,
  entered text not null default '',
  fluid text not null default '',
  source_kind text not null check (source_kind in ('document', 'measured', 'judgement')),
  source_words text not null default '',
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint unit_value_words check (source_kind = 'measured' or source_words <> '')
);
comment on table unit_value is 'spec, append-only: one row is a value for one unit alone in place of its spec sheet''s, or takes that back where nominal_si is null; of one key and place the newest counts';
create index unit_value_unit on unit_value (unit_id, key, place, id desc);
