alter table step add column tools text not null default '', add column parts text not null default '';
comment on column step.tools is 'what is at hand for it, in words; torque tools are chosen by their register';
comment on column step.parts is 'what it fits or replaces, in words';
alter table sheet_step add column tools text not null default '', add column parts text not null default '';

alter table signoff add column instrument text not null default '';
comment on column signoff.instrument is 'what a reading was taken with, where somebody said so';
