alter table visit add column booked_for date;
comment on column visit.booked_for is 'the day the units are to come, for a visit booked before they were here; it stays when they have come';

alter table job drop constraint job_ending_check;
alter table job add constraint job_ending_check check (ending in ('done', 'returned undone', 'returned in parts, not rideable',
  'not worth repairing', 'no fault found', 'no parts', 'left for scrap', 'not brought'));

create table job_answer (
  job_id bigint not null references job,
  symptom text not null,
  question text not null,
  words text not null check (words <> ''),
  primary key (job_id, symptom, question)
);
comment on table job_answer is 'job: one row is what the rider answered when asked about a symptom; words, apart so that they can be erased';
