drop table job_answer;
update job set ending = 'returned undone' where ending = 'not brought';
alter table job drop constraint job_ending_check;
alter table job add constraint job_ending_check check (ending in ('done', 'returned undone', 'returned in parts, not rideable',
  'not worth repairing', 'no fault found', 'no parts', 'left for scrap'));
alter table visit drop column booked_for;
