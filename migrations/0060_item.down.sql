drop table item_file;
drop table item_supplier;
drop table item_model;
drop table item;
drop table supplier;
alter table shop drop column stock_below_zero;
