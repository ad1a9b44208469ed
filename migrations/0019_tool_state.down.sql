drop table tool_state;
