create table picture (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  step_id bigint,
  sha text not null check (sha ~ '^[0-9a-f]{64}$'),
  thumb_sha text not null check (thumb_sha ~ '^[0-9a-f]{64}$'),
  bytes integer not null check (bytes > 0),
  width integer not null check (width between 1 and 4096),
  height integer not null check (height between 1 and 4096),
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, job_id),
  foreign key (step_id, job_id) references sheet_step (id, job_id)
);
comment on table picture is 'picture, append-only: one row is a picture taken of a unit in a job, at a step of its sheet or apart from one; its file and its thumbnail lie in the folder of pictures under the hash of their content';
comment on column picture.bytes is 'the size of the file, not of its thumbnail';
create index picture_job on picture (job_id, id);
create index picture_sha on picture (sha);
create index picture_thumb_sha on picture (thumb_sha);

create table picture_shown (
  id bigint generated always as identity primary key,
  picture_id bigint not null references picture,
  shown boolean not null,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table picture_shown is 'picture, append-only: one row says that the customer may see a picture, or no longer; the newest counts, and without one it is the shop''s own';
create index picture_shown_picture on picture_shown (picture_id, id desc);

alter table finding add constraint finding_of_job unique (id, job_id);

create table finding_picture (
  id bigint generated always as identity primary key,
  finding_id bigint not null,
  job_id bigint not null,
  picture_id bigint not null,
  actor_id bigint not null references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint finding_picture_once unique (finding_id, picture_id),
  foreign key (finding_id, job_id) references finding (id, job_id),
  constraint finding_picture_of_job foreign key (picture_id, job_id) references picture (id, job_id)
);
comment on table finding_picture is 'bench, append-only: one row is a picture that shows what was found';
