drop table estimate_share;
comment on table estimate is 'bill, append-only: one row is what the services wanted were said to come to as a visit began, with its tax';
alter table estimate_line drop column payer, drop column payer_words;

-- All claims and teams of a visit have one balance again: what they owed together
-- before an act, less what was paid for them by rows before that one.
create function pg_temp.owed(visit bigint, who text, act bigint, row_id bigint) returns bigint language sql as $$
  select (coalesce((select sum(amount + case when inside then 0 else round(amount * bp / 10000) end)
      from (select sum(round(l.qty_milli::numeric * l.unit_minor / 1000) - l.discount_minor) as amount, t.bp, l.tax_included as inside
        from bill_line l join tax_rate t on t.id = l.tax_id
        where l.visit_id = visit and l.payer = who and (select min(e.id) from event e where e.intent_id = l.intent_id) < act
        group by t.code, t.bp, l.tax_included, case when l.tax_by_line then coalesce(l.reverses, l.id) end) s), 0)
    - coalesce((select sum(b.minor) from payment b where b.visit_id = visit and b.payer = who and b.id < row_id), 0))::bigint
$$;
alter table payment disable trigger user;
-- A payment that was parted among claims is one row again, that of its first part.
create temp table part on commit drop as
  select id, minor, min(id) over (partition by visit_id, payer, intent_id, kind, reverses is null) as first
    from payment where payer in ('warranty', 'team or other shop') and kind <> 'rounding';
update payment p set rounds = w.first from pg_temp.part w where w.id = p.rounds and w.first <> w.id;
update payment p set minor = w.minor from (select first, sum(minor) as minor from pg_temp.part group by first having count(*) > 1) w where p.id = w.first;
delete from payment where id in (select id from pg_temp.part where id <> first);
update payment p set owed_minor = pg_temp.owed(p.visit_id, p.payer, (select min(e.id) from event e where e.intent_id = p.intent_id), p.id)
  where p.payer in ('warranty', 'team or other shop');
alter table payment enable trigger user;
drop function pg_temp.owed;
drop table pg_temp.part;
alter table payment drop column payer_words;
