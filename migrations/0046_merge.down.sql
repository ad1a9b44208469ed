drop table customer_merge_words, customer_merge_undone, customer_merge;
alter table unit drop constraint unit_bike_of_customer,
  add constraint unit_bike_id_customer_id_fkey foreign key (bike_id, customer_id) references bike (id, customer_id);
drop view customer_now;
drop trigger customer_merged_once on customer;
drop function customer_merged_once;
drop index customer_merged;
alter table customer drop column merged_into;
comment on table customer is 'customer: one row is a person who brings units; what ends in _key is folded for finding, grams are the trigrams of all keys, keyed is the revision of the rules they were made by';
