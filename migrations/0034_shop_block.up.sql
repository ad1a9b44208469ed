alter table block drop constraint block_state_check;
alter table block add constraint block_state_check check (state in ('draft', 'current', 'past', 'offered'));
alter table block add column shipped integer check (shipped > 0);
update block set shipped = revision;
alter table block add column based_on bigint references block;
alter table block add column version integer not null default 1;
alter table block add column words text not null default '';
alter table block add column put_by bigint references staff;
alter table block add column put_at timestamptz;
alter table block add constraint block_shipped_or_based check (shipped is not null or based_on is not null);
comment on table block is 'procedure: one row is a revision of a block of steps that services are made of, shipped with the program or the shop’s own; an offered one is shipped, and waits beside what the shop wrote itself';
comment on column block.shipped is 'the number of the shipped text this is; null for the shop’s own';
comment on column block.based_on is 'the revision that the shop’s own began with';
comment on column block.words is 'what changed and why, in the shop’s words';
create unique index block_one_draft on block (code) where state = 'draft';
create unique index block_one_offered on block (code) where state = 'offered';

create function refuse_frozen_step() returns trigger language plpgsql as $$
begin
  if exists (select from block where id = old.block_id and state <> 'draft') then
    raise exception 'a revision that is no draft stays as it is' using errcode = 'restrict_violation', constraint = 'block_frozen';
  end if;
  return case tg_op when 'DELETE' then old else new end;
end $$;
create trigger frozen before update or delete on step for each row execute function refuse_frozen_step();
alter table step enable always trigger frozen;

alter table service add column in_use boolean not null default true;
comment on column service.in_use is 'whether it is offered; jobs that have it keep it all the same';
