alter table visit add column draft_root uuid;
comment on column visit.draft_root is 'the root of the half-filled forms that it was taken in from; null: before it was kept';
create index visit_draft_root on visit (draft_root) where draft_root is not null;
