create table finding (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  step_id bigint,
  grade text not null check (grade in ('note', 'keep an eye on', 'needs doing', 'do not ride')),
  cause text not null check (cause in ('found so', 'happened here')),
  words text not null check (btrim(words) <> ''),
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  foreign key (step_id, job_id) references sheet_step (id, job_id)
);
comment on table finding is 'bench, append-only: one row is something found on a unit, at a step of its sheet or apart from one';
create index finding_job on finding (job_id);

create table finding_withdrawn (
  id bigint generated always as identity primary key,
  finding_id bigint not null constraint finding_withdrawn_once unique references finding,
  reason text not null check (btrim(reason) <> ''),
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table finding_withdrawn is 'bench, append-only: one row takes a finding back with a reason and leaves the original';
