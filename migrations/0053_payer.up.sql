alter table payment add column payer_words text not null default '';
comment on column payment.payer_words is 'number of the claim, or which team or shop; each has a balance of its own';
-- What claims and teams paid so far goes to the first of them on the bill.
alter table payment disable trigger user;
update payment p set payer_words = l.payer_words
  from (select distinct on (visit_id, payer) visit_id, payer, payer_words from bill_line
    where payer in ('warranty', 'team or other shop') order by visit_id, payer, id) l
  where l.visit_id = p.visit_id and l.payer = p.payer;
alter table payment enable trigger user;
alter table payment add constraint payment_payer_words check (payer <> 'customer' or payer_words = '');

alter table estimate_line add column payer text not null default 'customer' check (payer in ('customer', 'us', 'warranty', 'team or other shop')),
  add column payer_words text not null default '';
comment on column estimate_line.payer is 'who pays for it, as it was told';
comment on table estimate is 'bill, append-only: one row is what the services wanted were said to come to for the customer as a visit began, with its tax';

create table estimate_share (
  id bigint generated always as identity primary key,
  estimate_id bigint not null references estimate,
  payer text not null check (payer in ('us', 'warranty', 'team or other shop')),
  payer_words text not null default '',
  total_minor bigint not null check (total_minor >= 0),
  tax_minor bigint not null check (tax_minor between 0 and total_minor),
  intent_id uuid not null references intent
);
comment on table estimate_share is 'bill, append-only: one row is what an estimate came to for somebody other than the customer, with its tax';
create unique index estimate_share_payer on estimate_share (estimate_id, payer, payer_words);
