create table customer (
  id bigint generated always as identity primary key,
  name text not null check (btrim(name) <> ''),
  name_key text not null,
  phone text not null default '',
  phone_digits text not null default '' check (phone_digits ~ '^[0-9]*$'),
  mail text not null default '',
  version integer not null default 1
);
comment on table customer is 'customer: one row is a person who brings units; name_key is the name folded for finding';

create table bike (
  id bigint generated always as identity primary key,
  customer_id bigint not null references customer,
  words text not null default '',
  colour text not null default '',
  frame_no text not null default '',
  version integer not null default 1,
  unique (id, customer_id)
);
comment on table bike is 'customer: one row is a bike that units come off';

create table unit (
  id bigint generated always as identity primary key,
  kind text not null check (kind in ('fork', 'rear shock', 'seatpost')),
  customer_id bigint not null references customer,
  bike_id bigint,
  model_id bigint references model,
  model_words text not null default '',
  serial text not null default '',
  tag text not null default '',
  version integer not null default 1,
  foreign key (bike_id, customer_id) references bike (id, customer_id),
  constraint unit_model_or_words check (model_id is not null or btrim(model_words) <> '')
);
comment on table unit is 'customer: one row is a fork, rear shock or seatpost of a customer; a model of the library or own words';
create index unit_customer on unit (customer_id);
create unique index unit_tag_once on unit (lower(tag)) where tag <> '';
