create table message (
  id bigint generated always as identity primary key,
  cause text not null constraint message_once unique,
  kind text not null check (kind in ('received', 'go-ahead wanted', 'promise moved', 'ready', 'still here', 'due soon', 'after the first ride', 'test')),
  customer_id bigint references customer,
  visit_id bigint references visit,
  unit_id bigint references unit,
  service_code text references service,
  again_of bigint references message,
  state text not null default 'waiting' check (state in ('waiting', 'sending', 'sent', 'doubtful', 'failed', 'dropped')),
  why text not null default '',
  mail text not null default '',
  subject text not null default '',
  body text not null default '',
  not_before timestamptz not null,
  tries integer not null default 0 check (tries >= 0),
  lease bigint not null default 0,
  leased_until timestamptz,
  handed_over_at timestamptz,
  sent_at timestamptz,
  told_at timestamptz,
  told_by bigint references staff,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint message_sent check ((state = 'sent') = (sent_at is not null)),
  constraint message_leased check ((state = 'sending') = (leased_until is not null)),
  constraint message_handed_over check (case when state in ('sent', 'doubtful') then handed_over_at is not null when state = 'sending' then true else handed_over_at is null end),
  constraint message_why check ((why <> '') or state not in ('doubtful', 'failed', 'dropped')),
  constraint message_written check (handed_over_at is null or (subject <> '' and body <> '' and mail <> '')),
  constraint message_told check ((told_at is null) = (told_by is null) and (why <> 'told by voice' or told_at is not null)),
  constraint message_customer check (customer_id is not null or kind = 'test')
);
comment on table message is 'message: one row is a message to a customer that something caused, once for each cause, and how far it has come';
comment on column message.why is 'why it was not sent, or not yet: a code of package message, never words of a mail server';
comment on column message.body is 'the plain text as it was last written, the secrets in its addresses left out';
comment on column message.tries is 'since somebody last had it sent again';
comment on column message.lease is 'counts who had it to send: only the last one may write how it went';
comment on column message.told_at is 'when somebody at the desk told the customer so by voice';
comment on column message.handed_over_at is 'committed before the last dot goes to the mail server: from then on it may have been sent';
create index message_waiting on message (not_before, id) where state in ('waiting', 'sending');
create index message_look on message (id) where state in ('doubtful', 'failed') and told_at is null;
create index message_state on message (state, id);
create index message_customer on message (customer_id, id);
create index message_visit on message (visit_id, id) where visit_id is not null;
create index message_unit on message (unit_id, id) where unit_id is not null;

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

create table quiet_hours (
  id integer primary key default 1 check (id = 1),
  from_min integer not null check (from_min between 0 and 1439),
  until_min integer not null check (until_min between 0 and 1439),
  version integer not null check (version > 0)
);
comment on table quiet_hours is 'message: the one row is between which minutes of the day, by the clock on the wall, no message goes out; none where they are the same';
