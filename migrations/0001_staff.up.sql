-- Every table says in its comment which package writes it and what a row is.
-- "append-only" in a comment is read by the guard step, by the tests and by check.

create table staff (
  id bigint generated always as identity primary key,
  name text not null check (btrim(name) <> ''),
  roles text[] not null check (cardinality(roles) > 0 and roles <@ array['desk', 'mechanic', 'owner']),
  passphrase_hash text not null,
  epoch integer not null default 1 check (epoch > 0),
  left_on date,
  version integer not null default 1
);
comment on table staff is 'staff: one row is a person who works here; raising epoch ends all their sign-ins';
create unique index staff_name_once on staff (lower(name));

create table session (
  token_hash text primary key,
  data bytea not null,
  expires_at timestamptz not null
);
comment on table session is 'staff: one row is a signed-in browser; the token itself is only in its cookie';
create index session_expires on session (expires_at);

create table attempt (
  id bigint generated always as identity primary key,
  name_key text not null,
  addr text not null,
  ok boolean not null,
  at timestamptz not null
);
comment on table attempt is 'staff: one row is a try to sign in, kept for the growing delay';
create index attempt_recent on attempt (name_key, at desc);

create table setup_code (
  id integer primary key default 1 check (id = 1),
  code_hash text not null,
  made_at timestamptz not null
);
comment on table setup_code is 'staff: the one code that lets the first owner in; gone once used';
