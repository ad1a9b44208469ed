drop index signoff_tool;
drop table tool_limit;
drop table tool_mishap;
alter table calibration drop column reference_nm, drop column set_nm, drop column share;
