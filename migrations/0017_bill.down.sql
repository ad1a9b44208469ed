drop table payment, bill_line, price, tax_rate;
alter table job drop constraint job_of_visit;
alter table shop drop column prices_include_tax;
