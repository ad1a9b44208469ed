drop table message_setting;
drop table message_template;
