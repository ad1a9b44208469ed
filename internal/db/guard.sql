-- Runs after every migration, any number of times: append-only tables get their
-- triggers, the serving role gets its rights and no more.
comment on table schema_migrations is 'db: the version of the schema';
comment on table migration_mark is 'db: the version whose file ran to its end, written inside the file''s own transaction';

do $$
declare
  t regclass;
begin
  for t in select c.oid::regclass from pg_class c
    where c.relkind = 'r' and c.relnamespace = 'public'::regnamespace
      and obj_description(c.oid, 'pg_class') like '%, append-only:%'
  loop
    execute format('create or replace trigger append_only before update or delete on %s for each row execute function refuse_change()', t);
    execute format('create or replace trigger append_only_all before truncate on %s execute function refuse_change()', t);
    execute format('alter table %s enable always trigger append_only', t);
    execute format('alter table %s enable always trigger append_only_all', t);
  end loop;
end $$;

do $$
begin
  create role damperdesk_serve nologin;
exception
  when duplicate_object or unique_violation then null;
  when insufficient_privilege then raise notice 'no right to create roles: triggers alone guard the append-only tables';
end $$;

do $$
declare
  t regclass;
begin
  if not exists (select from pg_roles where rolname = 'damperdesk_serve') then
    return;
  end if;
  begin
    -- From PostgreSQL 16 on the maker of a role is a member who may not take it.
    if not pg_has_role(current_user, 'damperdesk_serve',
        case when current_setting('server_version_num')::int >= 160000 then 'set' else 'member' end) then
      execute format('grant damperdesk_serve to %I', current_user);
    end if;
  exception when insufficient_privilege then null;
  end;
  grant usage on schema public to damperdesk_serve;
  grant select, insert, update, delete on all tables in schema public to damperdesk_serve;
  grant usage, select on all sequences in schema public to damperdesk_serve;
  for t in select c.oid::regclass from pg_class c
    where c.relkind = 'r' and c.relnamespace = 'public'::regnamespace
      and obj_description(c.oid, 'pg_class') like '%, append-only:%'
  loop
    execute format('revoke update, delete, truncate on %s from damperdesk_serve', t);
  end loop;
  revoke insert on event_chain from damperdesk_serve;
  revoke insert, update, delete on schema_migrations, migration_mark from damperdesk_serve;
  grant execute on function erase_customer(bigint, bigint, uuid, timestamptz) to damperdesk_serve;

  grant usage on schema river to damperdesk_serve;
  grant select, insert, update, delete on all tables in schema river to damperdesk_serve;
  grant usage, select on all sequences in schema river to damperdesk_serve;
  revoke insert, update, delete on river.river_migration from damperdesk_serve;
end $$;
