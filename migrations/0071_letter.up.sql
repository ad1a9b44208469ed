create table message_template (
  kind text primary key check (kind in ('received', 'go-ahead wanted', 'promise moved', 'ready', 'still here', 'due soon', 'after the first ride')),
  subject text not null check (subject <> ''),
  body text not null check (body <> ''),
  version integer not null check (version > 0),
  actor_id bigint references staff,
  at timestamptz not null
);
comment on table message_template is 'letter: one row is what the shop writes in messages of a kind, in place of the words that come with the program';

create table message_setting (
  id integer primary key default 1 check (id = 1),
  first_ride_days integer not null check (first_ride_days between 0 and 60),
  still_here_days integer not null check (still_here_days between 0 and 60),
  version integer not null check (version > 0)
);
comment on table message_setting is 'message: one row is after how many days customers are written to by the clock; 0 is never';
