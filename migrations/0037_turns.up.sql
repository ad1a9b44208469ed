alter table signoff alter column count type double precision;
alter table signoff add constraint signoff_count check (count >= 0 and count * 4 = floor(count * 4));
comment on column signoff.count is 'counted in whole ones, turns in quarters';

alter table model add column positions text[] not null default '{}';
comment on column model.positions is 'what the positions of its lever are called, from closed; empty where they are only counted';
