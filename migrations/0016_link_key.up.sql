create table link_key (
  id integer primary key default 1 check (id = 1),
  mark text not null
);
comment on table link_key is 'link: the mark that tells the shop''s link key from any other; the key itself is not in the database';
