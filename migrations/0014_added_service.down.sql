alter table cross_out drop column added_service;
alter table sheet_step drop column added_for;
alter table sheet_step drop constraint sheet_step_rank_once;
alter table sheet_step disable trigger append_only;
update sheet_step s set rank = n.place
from (select id, row_number() over (partition by job_id order by rank) as place from sheet_step) n where n.id = s.id;
alter table sheet_step enable always trigger append_only;
alter table sheet_step alter column rank type integer;
alter table sheet_step rename column rank to seq;
alter table sheet_step rename constraint sheet_step_rank_check to sheet_step_seq_check;
alter table sheet_step add constraint sheet_step_seq_once unique (job_id, seq);
comment on column sheet_step.seq is null;
