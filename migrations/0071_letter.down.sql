alter table message drop column told_at, drop column told_by;
drop table message_setting;
drop table message_template;
