alter table shop add column prices_include_tax boolean not null default false;
comment on column shop.prices_include_tax is 'whether prices, as the shop types them, hold their tax already';

alter table job add constraint job_of_visit unique (id, visit_id);

create table tax_rate (
  id bigint generated always as identity primary key,
  code text not null check (code ~ '^[A-Z]$'),
  version integer not null check (version > 0),
  name text not null check (btrim(name) <> ''),
  bp integer not null check (bp between 0 and 10000),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint tax_rate_version_once unique (code, version)
);
comment on table tax_rate is 'bill, append-only: one row is a version of a kind of tax, in basis points; the highest of a code is in force';

create table price (
  id bigint generated always as identity primary key,
  service_code text not null references service,
  version integer not null check (version > 0),
  minor bigint check (minor between 0 and 100000000000),
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  tax_code text check (tax_code ~ '^[A-Z]$'),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint price_version_once unique (service_code, version),
  check (minor is null or tax_code is not null)
);
comment on table price is 'bill, append-only: one row is a version of the price of a service; the highest is in force, null is no price';

create table bill_line (
  id bigint generated always as identity primary key,
  visit_id bigint not null references visit,
  job_id bigint,
  payer text not null check (payer in ('customer', 'us', 'warranty', 'team or other shop')),
  payer_words text not null default '',
  kind text not null check (kind in ('service', 'part', 'fluid', 'fee', 'other')),
  service_code text references service,
  words text not null check (btrim(words) <> ''),
  qty_milli bigint not null check (qty_milli <> 0 and abs(qty_milli) <= 99999999),
  unit_minor bigint not null check (unit_minor between 0 and 100000000000),
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  tax_id bigint not null references tax_rate,
  tax_included boolean not null,
  discount_minor bigint not null default 0,
  discount_reason text not null default '',
  reverses bigint constraint bill_line_reverses_once unique,
  reason text not null default '',
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  foreign key (job_id, visit_id) references job (id, visit_id),
  unique (id, visit_id),
  foreign key (reverses, visit_id) references bill_line (id, visit_id),
  constraint bill_line_sign check ((reverses is null) = (qty_milli > 0)),
  constraint bill_line_reason check ((reverses is null) = (btrim(reason) = '')),
  constraint bill_line_discount check (abs(discount_minor) <= abs(round(qty_milli::numeric * unit_minor / 1000))
    and sign(discount_minor) * sign(qty_milli) >= 0),
  constraint bill_line_discount_reason check ((discount_minor = 0) = (btrim(discount_reason) = '')),
  constraint bill_line_service check ((service_code is null) or (kind = 'service' and job_id is not null))
);
comment on table bill_line is 'bill, append-only: one row is a line of the bill of a visit, or the opposite of a wrong one; thousandths times minor units, less the discount';
comment on column bill_line.payer_words is 'which team or shop, or the number of the claim';
comment on column bill_line.service_code is 'the service whose listed price the line is; null for a line by hand';
create index bill_line_visit on bill_line (visit_id);

create table payment (
  id bigint generated always as identity primary key,
  visit_id bigint not null references visit,
  kind text not null check (kind in ('cash', 'card', 'bank transfer', 'other')),
  words text not null default '',
  minor bigint not null check (minor <> 0),
  currency text not null check (currency ~ '^[A-Z]{3}$'),
  owed_minor bigint not null,
  reverses bigint constraint payment_reverses_once unique,
  reason text not null default '',
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  unique (id, visit_id),
  foreign key (reverses, visit_id) references payment (id, visit_id),
  constraint payment_reason check ((reverses is null) = (btrim(reason) = ''))
);
comment on table payment is 'bill, append-only: one row is money from the customer of a visit, below zero to them, or the opposite of a wrong one';
comment on column payment.owed_minor is 'what the customer owed just before, as it was reckoned then';
create index payment_visit on payment (visit_id);
