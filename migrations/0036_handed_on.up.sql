create table handed_on (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  to_id bigint not null references staff,
  words text not null check (btrim(words) <> ''),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table handed_on is 'job, append-only: one row is what a mechanic who is given a job should know of it; the newest one to whoever has it counts';
create index handed_on_job on handed_on (job_id, id desc);
