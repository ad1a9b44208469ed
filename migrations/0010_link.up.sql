create table link (
  id bigint generated always as identity primary key,
  token_hash bytea not null unique,
  visit_id bigint not null references visit,
  made_at timestamptz not null,
  expires_at timestamptz not null,
  revoked_at timestamptz
);
comment on table link is 'link: one row lets whoever holds its token see one visit; the token is not kept, a server with the key can work it out again';
create index link_visit on link (visit_id);

create table interval_rule (
  service_code text not null references service,
  model_id bigint references model,
  hours integer check (hours between 1 and 2000),
  months integer check (months between 1 and 120),
  version integer not null default 1,
  constraint interval_rule_once unique nulls not distinct (service_code, model_id),
  check (hours is not null or months is not null)
);
comment on table interval_rule is 'interval: one row says after how many ride hours or months a service is due again, for a model or for all';
