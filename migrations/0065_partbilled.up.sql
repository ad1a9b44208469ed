alter table bill_line add column need_id bigint;
comment on column bill_line.need_id is 'the need of a job whose part it is the price of; a need that was put back may be gone';
create index bill_line_need on bill_line (need_id) where need_id is not null;
