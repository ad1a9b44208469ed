drop index message_sent_at;
alter table message drop column failing_since;
