update block set state = 'past' where state = 'offered';
alter table service drop column in_use;
drop trigger frozen on step;
drop function refuse_frozen_step();
drop index block_one_offered;
drop index block_one_draft;
alter table block drop constraint block_shipped_or_based, drop column put_at, drop column put_by, drop column words, drop column version,
  drop column based_on, drop column shipped;
alter table block drop constraint block_state_check;
alter table block add constraint block_state_check check (state in ('draft', 'current', 'past'));
comment on table block is 'procedure: one row is a revision of a block of steps that services are made of';
