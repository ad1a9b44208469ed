alter table step add column minutes integer not null default 0 check (minutes between 0 and 2880);
alter table step add column fasteners integer not null default 1 check (fasteners between 1 and 12);
comment on column step.minutes is 'how long a wait stands at least; 0 where the text says when it is over';
comment on column step.fasteners is 'how many fasteners one sign-off of a torque tightens';
alter table sheet_step add column minutes integer not null default 0 check (minutes between 0 and 2880);
alter table sheet_step add column fasteners integer not null default 1 check (fasteners between 1 and 12);

create table wait_begun (
  id bigint generated always as identity primary key,
  step_id bigint not null references sheet_step,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table wait_begun is 'bench, append-only: one row lets a wait count from then on; the newest counts, and without one it counts from the sign-off before it';
create index wait_begun_step on wait_begun (step_id, id desc);
