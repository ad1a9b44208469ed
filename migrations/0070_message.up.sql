create table message (
  id bigint generated always as identity primary key,
  cause text not null constraint message_once unique,
  kind text not null check (kind in ('received', 'go-ahead wanted', 'promise moved', 'ready', 'still here', 'due soon', 'after the first ride', 'test')),
  customer_id bigint references customer,
  visit_id bigint references visit,
  unit_id bigint references unit,
  service_code text references service,
  state text not null default 'waiting' check (state in ('waiting', 'sending', 'sent', 'doubtful', 'failed', 'dropped')),
  why text not null default '',
  mail text not null default '',
  subject text not null default '',
  body text not null default '',
  not_before timestamptz not null,
  tries integer not null default 0 check (tries >= 0),
  leased_until timestamptz,
  sent_at timestamptz,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  check ((state = 'sent') = (sent_at is not null)),
  check ((state = 'sending') = (leased_until is not null)),
  check (customer_id is not null or kind = 'test')
);
comment on table message is 'message: one row is a message to a customer that something caused, once for each cause, and how far it has come';
comment on column message.why is 'failed, doubtful, dropped: a code of package message, never words of a mail server';
create index message_waiting on message (not_before, id) where state in ('waiting', 'sending');
create index message_customer on message (customer_id, id);
create index message_visit on message (visit_id, id) where visit_id is not null;

create table consent (
  id bigint generated always as identity primary key,
  customer_id bigint not null references customer,
  kind text not null check (kind in ('received', 'go-ahead wanted', 'promise moved', 'ready', 'still here', 'due soon', 'after the first ride')),
  given boolean not null,
  how text not null check (how in ('desk', 'page', 'mail')),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table consent is 'message, append-only: one row is that a customer wants messages of a kind, or wants none of it any more; the newest counts';
create index consent_customer on consent (customer_id, kind, id desc);
