drop index unit_model, unit_bike, bike_customer;
alter table unit drop column words_key, drop column serial_key, drop column tag_key, drop column grams, drop column keyed;
alter table bike drop column words_key, drop column frame_key, drop column grams, drop column keyed;
comment on table bike is 'customer: one row is a bike that units come off';
alter table customer drop column mail_key, drop column grams, drop column keyed;
comment on table customer is 'customer: one row is a person who brings units; name_key is the name folded for finding';
