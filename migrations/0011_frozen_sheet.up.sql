create function refuse_thaw() returns trigger language plpgsql as $$
begin
  if old.state = 'draft' then
    return case tg_op when 'DELETE' then old else new end;
  end if;
  if tg_op = 'DELETE' or new.state = 'draft' or to_jsonb(new) - 'state' <> to_jsonb(old) - 'state' then
    raise exception 'spec sheet % is no draft any more', old.id using errcode = 'restrict_violation', constraint = 'sheet_frozen';
  end if;
  return new;
end $$;
create trigger frozen before update or delete on sheet for each row execute function refuse_thaw();
alter table sheet enable always trigger frozen;

-- The lock waits for whoever checks the sheet at this moment.
create function refuse_frozen_value() returns trigger language plpgsql as $$
declare
  found text;
begin
  for found in select state from sheet where id in (old.sheet_id, new.sheet_id) for share loop
    if found <> 'draft' then
      raise exception 'a value of a spec sheet that is no draft' using errcode = 'restrict_violation', constraint = 'sheet_frozen';
    end if;
  end loop;
  return case tg_op when 'DELETE' then old else new end;
end $$;
create trigger frozen before insert or update or delete on sheet_value for each row execute function refuse_frozen_value();
alter table sheet_value enable always trigger frozen;

alter table sheet_step add column unsure boolean not null default false;
comment on column sheet_step.unsure is 'asked only because a fact was not known, so that it may turn out not to apply';
