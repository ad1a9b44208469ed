comment on table unit is 'customer: one row is a fork, rear shock or seatpost of a customer; a model of the library or own words';
create index unit_bike on unit (bike_id);
alter table bike
  add column words_key text not null default '',
  add column frame_key text not null default '',
  add column grams text[] not null default '{}',
  add column keyed integer not null default 0;
create index bike_grams on bike using gin (grams) with (fastupdate = off);
create index bike_frame on bike (frame_key) where frame_key <> '';
comment on table bike is 'customer: one row is a bike that units come off; words_key has its colour and words';
alter table unit drop column frame_key;
