create table library_file (
  id bigint generated always as identity primary key,
  staff_id bigint not null unique references staff,
  name text not null,
  content bytea not null,
  at timestamptz not null
);
comment on table library_file is 'spec: one row is a CSV file of the library that a person brought and has not taken in yet; the next one takes its place';
