alter table tool drop column lives;
drop table tool_allowed;
