drop table event_chain, event, intent cascade;
drop function seal_event();
drop function if exists event_hash;
drop function refuse_change() cascade;
