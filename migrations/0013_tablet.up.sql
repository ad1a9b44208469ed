create table device (
  id bigint generated always as identity primary key,
  name text not null check (btrim(name) <> ''),
  token_hash text not null constraint device_token_once unique,
  enrolled_by bigint references staff,
  enrolled_at timestamptz not null,
  revoked_at timestamptz check (revoked_at >= enrolled_at),
  version integer not null default 1
);
comment on table device is 'staff: one row is a tablet an owner enrolled; the token itself is only in its cookie, and revoked_at ends its use for good';
create unique index device_name_once on device (lower(name)) where revoked_at is null;

alter table staff add column pin_hash text;
comment on column staff.pin_hash is 'null: no PIN; good on an enrolled tablet alone';

alter table attempt add column device_id bigint references device;
comment on table attempt is 'staff: one row is a try to sign in, kept for the growing delay; with a device it was by PIN on that tablet, else by pass-phrase';

alter table intent add column device_id bigint references device;
create index intent_device on intent (device_id, at) where device_id is not null;
comment on table intent is 'intent: one row is one act of one person, on a tablet where device_id says so, as every row of that intent; answer is where it led, null only inside its own transaction';
