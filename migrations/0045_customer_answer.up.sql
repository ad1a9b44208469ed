alter table proposal add column ready_on date;
comment on column proposal.ready_on is 'the day it will be ready with it, where that is known; null: not known, or not asked';

alter table proposal_answer alter column actor_id drop not null;
alter table proposal_answer drop constraint proposal_answer_how_check;
alter table proposal_answer add constraint proposal_answer_how_check
  check (how in ('by phone', 'at the counter', 'in writing', 'on their page'));
alter table proposal_answer add constraint proposal_answer_page check (how = 'on their page' or actor_id is not null);
comment on column proposal_answer.actor_id is 'who wrote it down; on their page: who of the shop was signed in there, mostly nobody';

create table proposal_call (
  id bigint generated always as identity primary key,
  proposal_id bigint not null references proposal,
  who text not null check (btrim(who) <> ''),
  words text not null default '',
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table proposal_call is 'goahead, append-only: one row is a customer who asks on their page to be rung about a proposal';
comment on column proposal_call.words is 'when, and on which number';
create index proposal_call_proposal on proposal_call (proposal_id);

create table proposal_reminder (
  id bigint generated always as identity primary key,
  proposal_id bigint not null references proposal,
  how text not null check (how in ('by phone', 'by message', 'at the counter')),
  who text not null default '',
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table proposal_reminder is 'goahead, append-only: one row is the desk reaching for a customer about a proposal, and whom it spoke with; empty: nobody';
create index proposal_reminder_proposal on proposal_reminder (proposal_id);
