alter table finding_withdrawn rename to finding_answer;
alter table finding_answer rename constraint finding_withdrawn_once to finding_answer_once;
alter table finding_answer rename column reason to words;
alter table finding_answer add column kind text not null default 'withdrawn' check (kind in ('withdrawn', 'put right'));
alter table finding_answer alter column kind drop default;
comment on table finding_answer is 'bench, append-only: one row takes a finding back with a reason, or says what put it right, and leaves the original';
