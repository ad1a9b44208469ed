alter table shop add column tax_number text not null default '';
alter table shop add column tax_by_line boolean not null default false;
comment on column shop.tax_number is 'the shop’s number with the tax office, as it stands on bills';
comment on column shop.tax_by_line is 'whether tax is rounded for each line of a bill, and not for their sum; settled before the first line';

alter table bill_line drop constraint bill_line_kind_check;
alter table bill_line add constraint bill_line_kind_check check (kind in ('service', 'part', 'fluid', 'fee', 'surcharge', 'other'));
alter table bill_line add column tax_by_line boolean not null default false;
alter table bill_line add column discount_bp integer not null default 0 check (discount_bp between 0 and 10000);
alter table bill_line add column share_bp integer not null default 0 check (share_bp between 0 and 100000);
alter table bill_line add constraint bill_line_discount_bp check (discount_bp = 0 or discount_minor <> 0);
alter table bill_line add constraint bill_line_share check (share_bp = 0 or kind = 'surcharge');
comment on column bill_line.tax_by_line is 'its tax is rounded by itself, as the shop had settled when it was written';
comment on column bill_line.discount_bp is 'the per cent that the discount was said in; 0: an amount';
comment on column bill_line.share_bp is 'the per cent of the services that a surcharge was said in; 0: an amount';

alter table payment drop constraint payment_kind_check;
alter table payment add constraint payment_kind_check check (kind in ('cash', 'card', 'bank transfer', 'other', 'rounding'));
alter table payment add column payer text not null default 'customer' check (payer in ('customer', 'warranty', 'team or other shop'));
alter table payment add column deposit boolean not null default false;
alter table payment add column rounds bigint constraint payment_rounds_once unique;
alter table payment add foreign key (rounds, visit_id) references payment (id, visit_id);
alter table payment add constraint payment_rounding check (case when kind = 'rounding' then rounds is null <> (reverses is null) else rounds is null end);
alter table payment add constraint payment_deposit check (not deposit or kind <> 'rounding');
comment on table payment is 'bill, append-only: one row is money from a payer of a visit, below zero to them, what rounding cash left, or the opposite of a wrong one';
comment on column payment.owed_minor is 'what that payer owed just before, as it was reckoned then';
comment on column payment.deposit is 'it was paid ahead of the bill';
comment on column payment.rounds is 'the payment in cash whose smallest coin left this; it is taken back with that';
