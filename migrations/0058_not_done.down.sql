drop table not_done;
