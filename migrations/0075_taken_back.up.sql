alter table hour_reading add constraint hour_reading_of_unit unique (id, unit_id);

create table reading_taken_back (
  reading_id bigint primary key,
  unit_id bigint not null,
  reason text not null,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint reading_taken_back_of foreign key (reading_id, unit_id) references hour_reading (id, unit_id),
  constraint reading_taken_back_why check (reason <> '' or actor_id is null)
);
comment on table reading_taken_back is 'interval, append-only: one row is a reading that was wrong: it is shown, and counts for nothing from then on';
comment on column reading_taken_back.actor_id is 'null: its rider, in the book of the unit, who gives no reason';
create index reading_taken_back_unit on reading_taken_back (unit_id);

create trigger due_touch after insert on reading_taken_back referencing new table as changed for each statement execute function due_touch();

create table book_taken_back (
  read_in uuid primary key references intent,
  unit_id bigint not null references unit,
  reason text not null check (reason <> ''),
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table book_taken_back is 'book, append-only: one row is a service book that was read in by mistake: what the act brought is shown, and counts for nothing from then on';
comment on column book_taken_back.read_in is 'the act that read it in, which its services and ride hours carry';
create index book_taken_back_unit on book_taken_back (unit_id);

create trigger due_touch after insert on book_taken_back referencing new table as changed for each statement execute function due_touch();
