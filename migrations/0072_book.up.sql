alter table link alter column visit_id drop not null;
alter table link add column purpose text not null default 'visit' check (purpose in ('visit', 'unit'));
alter table link add column unit_id bigint references unit;
alter table link add constraint link_of_one check ((purpose = 'visit') = (visit_id is not null) and (purpose = 'unit') = (unit_id is not null));
comment on table link is 'link: one row lets whoever holds its token see one visit or the service book of one unit; the token is not kept, a server with the key can work it out again';
create index link_unit on link (unit_id);

create table link_view (
  link_id bigint not null references link,
  day date not null,
  count integer not null check (count > 0),
  primary key (link_id, day)
);
comment on table link_view is 'link: one row is how often the page of a link was opened on a day of the shop; nothing is kept of who did';
create index link_view_day on link_view (day);

create table elsewhere_service (
  id bigint generated always as identity primary key,
  unit_id bigint not null references unit,
  ref text not null check (ref ~ '^[0-9a-f-]{8,64}$'),
  day date not null,
  shop text not null,
  services jsonb not null check (jsonb_typeof(services) = 'array'),
  found jsonb not null check (jsonb_typeof(found) = 'array'),
  readings jsonb not null check (jsonb_typeof(readings) = 'array'),
  settings jsonb not null check (jsonb_typeof(settings) = 'array'),
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint elsewhere_service_once unique (unit_id, ref)
);
comment on table elsewhere_service is 'book, append-only: one row is work that another shop did on a unit, as its service book told; the four lists are as in the file, values in SI with their unit';

create table book_file (
  id bigint generated always as identity primary key,
  staff_id bigint not null unique references staff,
  customer_id bigint references customer,
  unit_id bigint references unit,
  name text not null,
  content bytea not null,
  at timestamptz not null
);
comment on table book_file is 'book: one row is a service book that a person brought and has not taken in yet, for a unit or a customer where they said which; the next one takes its place';

create trigger due_touch after insert on elsewhere_service referencing new table as changed for each statement execute function due_touch();
