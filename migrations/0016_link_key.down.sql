drop table link_key;
