comment on column payment.owed_minor is 'what the customer owed just before, as it was reckoned then';
comment on table payment is 'bill, append-only: one row is money from the customer of a visit, below zero to them, or the opposite of a wrong one';
alter table payment drop column rounds, drop column deposit, drop column payer;
alter table payment drop constraint payment_kind_check;
alter table payment add constraint payment_kind_check check (kind in ('cash', 'card', 'bank transfer', 'other'));
alter table bill_line drop column share_bp, drop column discount_bp, drop column tax_by_line;
alter table bill_line drop constraint bill_line_kind_check;
alter table bill_line add constraint bill_line_kind_check check (kind in ('service', 'part', 'fluid', 'fee', 'other'));
alter table shop drop column tax_by_line, drop column tax_number;
