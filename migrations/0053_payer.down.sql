drop table estimate_share;
comment on table estimate is 'bill, append-only: one row is what the services wanted were said to come to as a visit began, with its tax';
alter table estimate_line drop column payer, drop column payer_words;
alter table payment drop column payer_words;
