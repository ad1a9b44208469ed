-- A unit is found by its bike, so its own row has the keys of both: one index
-- is asked where there were two tables to join.
alter table unit add column frame_key text not null default '';
create index unit_frame on unit (frame_key) where frame_key <> '';
alter table bike drop column words_key, drop column frame_key, drop column grams, drop column keyed;
drop index unit_bike;
comment on table bike is 'customer: one row is a bike that units come off';
comment on table unit is 'customer: one row is a fork, rear shock or seatpost of a customer; a model of the library or own words; words_key has also the colour and words of its bike';
