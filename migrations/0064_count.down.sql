drop index move_emptied;
drop index move_used;
drop table waste_pickup;
drop table waste;
alter table move drop column count_line_id;
drop table count_line;
drop table count_item;
drop table stock_count;
