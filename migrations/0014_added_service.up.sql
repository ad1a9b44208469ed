alter table sheet_step rename column seq to rank;
alter table sheet_step alter column rank type double precision;
alter table sheet_step rename constraint sheet_step_seq_check to sheet_step_rank_check;
alter table sheet_step rename constraint sheet_step_seq_once to sheet_step_rank_once;
comment on column sheet_step.rank is 'the place of the step on its sheet; a step of a service added later lies between two others';
alter table sheet_step add column added_for text references service;
comment on column sheet_step.added_for is 'the service that brought the step after work had started; null: there from the start';
alter table cross_out add column added_service text references service;
comment on column cross_out.added_service is 'the added service whose work undoes what was signed; null: crossed out by hand';
