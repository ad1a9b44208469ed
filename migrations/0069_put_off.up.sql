create table put_off (
  id bigint generated always as identity primary key,
  unit_id bigint not null references unit,
  service_code text references service,
  kind text not null check (kind in ('snoozed', 'elsewhere', 'back')),
  until date,
  reason text not null default '' check (reason in ('', 'they asked', 'not riding', 'away', 'no money now', 'said it is fine')),
  actor_id bigint references staff,
  intent_id uuid not null references intent,
  at timestamptz not null,
  constraint put_off_until check ((kind = 'snoozed') = (until is not null)),
  constraint put_off_whole check (kind <> 'elsewhere' or service_code is null)
);
comment on table put_off is 'due, append-only: one row is that nobody is to ring about a unit, or one service of it, until a day, or at all because it is serviced elsewhere; or that this is over';
comment on column put_off.service_code is 'null: every service of the unit';
create index put_off_unit on put_off (unit_id, id desc);

create view put_off_now as
  select p.* from (select distinct on (unit_id, service_code) * from put_off order by unit_id, service_code, id desc) p
  where p.kind <> 'back' and not exists (select from job j where j.unit_id = p.unit_id and j.opened_at > p.at);
comment on view put_off_now is 'due: what stands of put_off: of each service of a unit the newest row, but for one that is over, or was written before the unit was last taken in';
