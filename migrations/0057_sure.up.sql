alter table shop add column sure_percent integer not null default 85 check (sure_percent between 50 and 99);
comment on column shop.sure_percent is 'share of the promises that are to be kept: how much open time a proposal leaves after the work is expected';
