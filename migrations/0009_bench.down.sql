alter table signoff drop constraint signoff_replaces;
drop table cross_out, signoff, step_value, sheet_step;
