alter table service add column kinds text[] not null default '{fork,rear shock,seatpost}'
  constraint service_kinds check (cardinality(kinds) > 0 and kinds <@ array['fork', 'rear shock', 'seatpost']);
comment on column service.kinds is 'the kinds of unit that the service is for';
update service set kinds = '{fork}' where code = 'lower-leg';
