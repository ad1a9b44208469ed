create table draft (
  id uuid primary key,
  about text not null,
  fields text not null check (length(fields) <= 200000),
  staff_id bigint not null references staff,
  begun_at timestamptz not null,
  kept_at timestamptz not null
);
comment on table draft is 'job: one row is a drop-off that somebody has begun and not taken in, as it was last typed; it goes when it is taken in, thrown away or thirty days old';
comment on column draft.about is 'whose it is, for the list';
comment on column draft.fields is 'the form as a query string, without its act';
