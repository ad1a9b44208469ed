drop trigger message_together on message;
drop function message_together();
alter table message drop column goes_with;
