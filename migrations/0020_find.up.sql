alter table customer
  add column mail_key text not null default '',
  add column grams text[] not null default '{}',
  add column keyed integer not null default 0;
comment on table customer is 'customer: one row is a person who brings units; what ends in _key is folded for finding, grams are the trigrams of all keys, keyed is the revision of the rules they were made by';

alter table bike
  add column words_key text not null default '',
  add column frame_key text not null default '',
  add column grams text[] not null default '{}',
  add column keyed integer not null default 0;
comment on table bike is 'customer: one row is a bike that units come off; words_key has its colour and words';

alter table unit
  add column words_key text not null default '',
  add column serial_key text not null default '',
  add column tag_key text not null default '',
  add column grams text[] not null default '{}',
  add column keyed integer not null default 0;

-- A row is changed seldom and looked for often: no list of pending entries.
create index customer_grams on customer using gin (grams) with (fastupdate = off);
create index bike_grams on bike using gin (grams) with (fastupdate = off);
create index unit_grams on unit using gin (grams) with (fastupdate = off);
create index unit_serial on unit (serial_key) where serial_key <> '';
create index unit_tag on unit (tag_key) where tag_key <> '';
create index bike_frame on bike (frame_key) where frame_key <> '';
create index bike_customer on bike (customer_id);
create index unit_bike on unit (bike_id);
create index unit_model on unit (model_id);
