create table service_taken_off (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  service_code text not null references service,
  reason text not null check (btrim(reason) <> ''),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table service_taken_off is 'job, append-only: one row is a service taken off a job again, and why; what is still wanted stands in job_service';
create index service_taken_off_job on service_taken_off (job_id);

create table step_asked (
  id bigint generated always as identity primary key,
  step_id bigint not null references sheet_step,
  asked boolean not null,
  service_code text not null references service,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table step_asked is 'bench, append-only: one row says that a step is no longer asked, since the service that alone brought it was taken off, or that it is asked again with a service added; the newest counts, and a step without one is asked';
create index step_asked_step on step_asked (step_id, id desc);
