create table not_done (
  staff_id bigint not null references staff,
  service_code text not null references service,
  primary key (staff_id, service_code)
);
comment on table not_done is 'shop: one row is a service that somebody at the bench does not do; without any they do all';
