alter table job add column comeback_of bigint references job,
  add column payer text not null default 'customer' check (payer in ('customer', 'us', 'warranty', 'team or other shop')),
  add column authorised_at timestamptz,
  add constraint job_comeback_free check (comeback_of is null or payer = 'us'),
  add constraint job_authorised check (authorised_at is null or payer = 'warranty');
comment on column job.comeback_of is 'the job that this one is about again: the same complaint within 90 days of its hand-over';
comment on column job.payer is 'who pays for its services, as far as the counter knows; each line of the bill says for itself';
comment on column job.authorised_at is 'when whoever stands for the warranty let it be opened';
create index job_comeback on job (comeback_of) where comeback_of is not null;

alter table job_words add column payer_words text not null default '', add column why_back text not null default '', add column left_on text not null default '';
comment on column job_words.payer_words is 'number of the warranty claim, or which team or shop';

create table job_mark (
  id bigint generated always as identity primary key,
  job_id bigint not null references job,
  place text not null,
  words text not null check (words <> ''),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null
);
comment on table job_mark is 'job: one row is a mark seen on a unit as it came, at a place of the drawing; words, so that they can be erased';
create index job_mark_job on job_mark (job_id);
