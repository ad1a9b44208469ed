create table book_time (
  service_code text references service,
  model_id bigint references model,
  minutes integer not null check (minutes between 1 and 1440),
  unique nulls not distinct (service_code, model_id),
  check (service_code is not null or model_id is null)
);
comment on table book_time is 'job: one row is the minutes at the bench that the shop books for a service, on one model where it differs; without a service, for the refit of a whole bike; without a row the shipped minutes hold';

create table pin (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  kind text not null check (kind in ('day', 'next up', 'lifted')),
  day date,
  reason text not null,
  replaces bigint,
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, job_id),
  constraint pin_over_once unique (replaces),
  foreign key (replaces, job_id) references pin (id, job_id),
  check ((kind = 'day') = (day is not null))
);
comment on table pin is 'job, append-only: one row pins a job to a day or to the front of the line, or lifts what was pinned; the newest holds';
create unique index pin_first on pin (job_id) where replaces is null;
