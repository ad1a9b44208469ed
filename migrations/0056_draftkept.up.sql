alter table draft
  add column version integer not null default 1,
  add column hand uuid not null default gen_random_uuid(),
  add column apart_of uuid,
  add column root uuid;
update draft set root = id;
alter table draft alter column hand drop default, alter column root set not null;
comment on column draft.version is 'counts how often it was kept; a form says at which count it was opened';
comment on column draft.hand is 'which opening of the form kept it last';
comment on column draft.apart_of is 'the draft that two had open, of which this is what the later one typed';
comment on column draft.root is 'the id that its pictures wait under: its own, or that of the first draft it goes back to';
create index draft_root on draft (root);
