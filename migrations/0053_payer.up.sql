alter table payment add column payer_words text;
comment on column payment.payer_words is 'number of the claim, or which team or shop; each has a balance of its own';

-- owed is what a claim or team owed before an act, less what was paid for it by
-- rows before that one.
create function pg_temp.owed(visit bigint, who text, claim text, act bigint, row_id bigint) returns bigint language sql as $$
  select (coalesce((select sum(amount + case when inside then 0 else round(amount * bp / 10000) end)
      from (select sum(round(l.qty_milli::numeric * l.unit_minor / 1000) - l.discount_minor) as amount, t.bp, l.tax_included as inside
        from bill_line l join tax_rate t on t.id = l.tax_id
        where l.visit_id = visit and l.payer = who and l.payer_words = claim and (select min(e.id) from event e where e.intent_id = l.intent_id) < act
        group by t.code, t.bp, l.tax_included, case when l.tax_by_line then coalesce(l.reverses, l.id) end) s), 0)
    - coalesce((select sum(b.minor) from payment b where b.visit_id = visit and b.payer = who and b.payer_words = claim and b.id < row_id), 0))::bigint
$$;

-- part writes so much of a payment for a claim: in the row itself, or in one more.
create function pg_temp.part(p payment, amount bigint, claim text, of bigint, more boolean) returns void language sql as $$
  update payment set minor = amount, payer_words = claim where id = p.id and not more;
  insert into payment (visit_id, kind, words, minor, currency, owed_minor, reverses, reason, actor_id, intent_id, at, payer, deposit, payer_words)
    select p.visit_id, p.kind, p.words, amount, p.currency, p.owed_minor, of, p.reason, p.actor_id, p.intent_id, p.at, p.payer, p.deposit, claim where more
$$;

alter table payment disable trigger user;
-- What claims and teams paid so far goes to those on the bill in order, as much
-- to each as it owed then, and what is left to the last that got any. What
-- answers a payment goes the same way, and what rounding left with its last part.
do $$
declare
  p payment; was payment; claim record; part record;
  claims text[]; parts bigint[]; rest bigint; last integer;
begin
  for p in select * from payment where payer in ('warranty', 'team or other shop') order by id loop
    select * into was from payment where id = coalesce(p.reverses, p.rounds);
    if p.rounds is not null then
      update payment r set payer_words = b.payer_words, rounds = b.id
        from (select * from payment where visit_id = p.visit_id and intent_id = was.intent_id and kind = 'cash' and reverses is null order by id desc limit 1) b
        where r.id = p.id;
    elsif p.reverses is not null and p.kind = 'rounding' then
      update payment set payer_words = was.payer_words where id = p.id;
    elsif p.reverses is not null then
      for part in select * from payment where visit_id = p.visit_id and payer = p.payer and intent_id = was.intent_id
          and reverses is null and kind <> 'rounding' order by id loop
        perform pg_temp.part(p, -part.minor, part.payer_words, part.id, part.id <> was.id);
      end loop;
    else
      claims := '{}'; parts := '{}'; rest := p.minor; last := 1;
      for claim in select payer_words as words, pg_temp.owed(p.visit_id, p.payer, payer_words,
            (select min(e.id) from event e where e.intent_id = p.intent_id), 9223372036854775807) as owed
          from bill_line where visit_id = p.visit_id and payer = p.payer group by payer_words order by min(id) loop
        claims := claims || claim.words;
        parts := parts || case when rest > 0 then least(rest, greatest(claim.owed, 0)) else greatest(rest, least(claim.owed, 0)) end;
        rest := rest - parts[cardinality(parts)];
        if parts[cardinality(parts)] <> 0 then
          last := cardinality(parts);
        end if;
      end loop;
      parts[last] := coalesce(parts[last], 0) + rest;
      rest := 0;
      for i in 1 .. cardinality(parts) loop
        if parts[i] <> 0 then
          perform pg_temp.part(p, parts[i], coalesce(claims[i], ''), null, rest <> 0);
          rest := 1;
        end if;
      end loop;
    end if;
  end loop;
end $$;
update payment p set owed_minor = pg_temp.owed(p.visit_id, p.payer, p.payer_words, (select min(e.id) from event e where e.intent_id = p.intent_id), p.id)
  where exists (select from bill_line l where l.visit_id = p.visit_id and l.payer = p.payer and l.payer in ('warranty', 'team or other shop')
    and l.payer_words <> p.payer_words);
update payment set payer_words = '' where payer_words is null;
alter table payment enable trigger user;
drop function pg_temp.part, pg_temp.owed;
alter table payment alter column payer_words set default '', alter column payer_words set not null;
alter table payment add constraint payment_payer_words check (payer <> 'customer' or payer_words = '');

alter table estimate_line add column payer text not null default 'customer' check (payer in ('customer', 'us', 'warranty', 'team or other shop')),
  add column payer_words text not null default '';
comment on column estimate_line.payer is 'who pays for it, as it was told';
comment on table estimate is 'bill, append-only: one row is what the services wanted were said to come to for the customer as a visit began, with its tax';

create table estimate_share (
  id bigint generated always as identity primary key,
  estimate_id bigint not null references estimate,
  payer text not null check (payer in ('us', 'warranty', 'team or other shop')),
  payer_words text not null default '',
  total_minor bigint not null check (total_minor >= 0),
  tax_minor bigint not null check (tax_minor between 0 and total_minor),
  intent_id uuid not null references intent
);
comment on table estimate_share is 'bill, append-only: one row is what an estimate came to for somebody other than the customer, with its tax';
create unique index estimate_share_payer on estimate_share (estimate_id, payer, payer_words);
