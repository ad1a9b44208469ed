create table proposal (
  id bigint generated always as identity primary key,
  finding_id bigint not null,
  job_id bigint not null,
  words text not null check (btrim(words) <> ''),
  minor bigint not null check (minor between 0 and 100000000000),
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  total_minor bigint not null,
  ahead boolean not null,
  hold_id bigint references hold,
  replaces bigint,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, finding_id),
  constraint proposal_over_once unique (replaces),
  foreign key (finding_id, job_id) references finding (id, job_id),
  foreign key (replaces, finding_id) references proposal (id, finding_id),
  constraint proposal_ahead_waits_for_nobody check (not (ahead and hold_id is not null))
);
comment on table proposal is 'goahead, append-only: one row proposes work for what was found at a price that holds its tax; another may stand in its place';
comment on column proposal.total_minor is 'what the visit came to with it, as it was reckoned then';
comment on column proposal.ahead is 'it was inside the spending limit then, and goes ahead unless the customer says no';
comment on column proposal.hold_id is 'the wait for the customer that it put on the job; null: none';
create unique index proposal_first on proposal (finding_id) where replaces is null;
create index proposal_job on proposal (job_id);

create table proposal_answer (
  id bigint generated always as identity primary key,
  proposal_id bigint not null references proposal,
  yes boolean not null,
  how text not null check (how in ('by phone', 'at the counter', 'in writing')),
  who text not null check (btrim(who) <> ''),
  replaces bigint,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, proposal_id),
  constraint proposal_said_once unique (replaces),
  foreign key (replaces, proposal_id) references proposal_answer (id, proposal_id)
);
comment on table proposal_answer is 'goahead, append-only: one row is what the customer said to a proposal, and who of them; a later word stands in its place';
create unique index proposal_answer_first on proposal_answer (proposal_id) where replaces is null;

create table proposal_billed (
  id bigint generated always as identity primary key,
  proposal_id bigint not null references proposal,
  line_id bigint not null constraint proposal_billed_line_once unique references bill_line,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table proposal_billed is 'goahead, append-only: one row is a proposal on the bill; once its line is taken back it is off again';
create index proposal_billed_proposal on proposal_billed (proposal_id);
