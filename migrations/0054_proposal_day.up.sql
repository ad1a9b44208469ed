alter table proposal add column minutes integer check (minutes between 1 and 6000),
  add column service_code text references service,
  add column parts_on date,
  add column ready_at timestamptz,
  add column expected_at timestamptz,
  add column proposed_at timestamptz,
  add column instead_of timestamptz,
  add constraint proposal_day check (ready_at is null or ready_on is not null and instead_of is not null);
comment on column proposal.minutes is 'what it takes at the bench beyond what the job is here for; null: not known';
comment on column proposal.service_code is 'the service that it is; null: none of the list';
comment on column proposal.parts_on is 'the day its parts are expected; null: it waits for none';
comment on column proposal.ready_at is 'the time of that day which is promised with it: a yes moves the promise there';
comment on column proposal.expected_at is 'when the line-up expected the work to be ready with it; null: nobody could say';
comment on column proposal.proposed_at is 'what the line-up proposed to promise with it';
comment on column proposal.instead_of is 'what was promised as it was made';
