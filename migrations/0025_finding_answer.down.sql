-- What was put right reads as withdrawn, in the same words.
alter table finding_answer drop column kind;
alter table finding_answer rename column words to reason;
alter table finding_answer rename constraint finding_answer_once to finding_withdrawn_once;
alter table finding_answer rename to finding_withdrawn;
comment on table finding_withdrawn is 'bench, append-only: one row takes a finding back with a reason and leaves the original';
