alter table message add column goes_with bigint references message;
comment on column message.goes_with is 'the message to the same customer in whose letter it is written too: it has come as far as that one';
create index message_goes_with on message (goes_with) where goes_with is not null;

create function message_together() returns trigger language plpgsql as $$
begin
  update message set state = new.state, why = new.why, mail = new.mail, subject = new.subject, body = new.body, not_before = new.not_before,
    tries = new.tries, failing_since = new.failing_since, lease = new.lease, leased_until = new.leased_until, handed_over_at = new.handed_over_at, sent_at = new.sent_at,
    told_at = new.told_at, told_by = new.told_by
  where goes_with = new.id and state = old.state;
  return null;
end $$;
create trigger message_together after update on message for each row when (new.goes_with is null and new.kind = 'due soon' and old.* is distinct from new.*)
  execute function message_together();
