drop table proposal_reminder;
drop table proposal_call;
alter table proposal_answer drop constraint proposal_answer_page;
alter table proposal_answer drop constraint proposal_answer_how_check;
alter table proposal_answer add constraint proposal_answer_how_check check (how in ('by phone', 'at the counter', 'in writing'));
alter table proposal_answer alter column actor_id set not null;
alter table proposal drop column ready_on;
