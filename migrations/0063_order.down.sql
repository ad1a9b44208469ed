alter table move drop column purchase_line_id;
drop index item_low_free;
drop table delivery_line;
drop table delivery;
drop table purchase_short;
drop table purchase_line;
drop table purchase_state;
drop table purchase;
