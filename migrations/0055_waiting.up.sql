create table picture_waiting (
  id bigint generated always as identity primary key,
  draft_id uuid not null,
  sha text not null check (sha ~ '^[0-9a-f]{64}$'),
  thumb_sha text not null check (thumb_sha ~ '^[0-9a-f]{64}$'),
  bytes integer not null check (bytes > 0),
  width integer not null check (width between 1 and 4096),
  height integer not null check (height between 1 and 4096),
  actor_id bigint not null references staff,
  at timestamptz not null
);
comment on table picture_waiting is 'picture: one row is a picture of a unit that is being taken in, under the id that its form is kept by; with the unit it becomes a picture of the job, and else goes with the form';
create index picture_waiting_draft on picture_waiting (draft_id);
create index picture_waiting_sha on picture_waiting (sha);
create index picture_waiting_thumb_sha on picture_waiting (thumb_sha);
