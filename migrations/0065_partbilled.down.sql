alter table bill_line drop column need_id;
