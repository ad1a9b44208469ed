create table block (
  id bigint generated always as identity primary key,
  code text not null,
  title text not null,
  revision integer not null check (revision > 0),
  state text not null check (state in ('draft', 'current', 'past')),
  constraint block_revision_once unique (code, revision)
);
comment on table block is 'procedure: one row is a revision of a block of steps that services are made of';
create unique index block_one_current on block (code) where state = 'current';

create table step (
  id bigint generated always as identity primary key,
  block_id bigint not null references block,
  seq integer not null check (seq > 0),
  key text not null,
  kind text not null check (kind in ('check', 'torque', 'volume', 'reading', 'count', 'wait', 'fit', 'picture')),
  title text not null check (btrim(title) <> ''),
  text text not null,
  caution text not null default '',
  place text not null default '',
  spec_key text not null default '',
  grades text[] not null default '{}',
  grp text not null default '',
  stop_here boolean not null default false,
  second_check boolean not null default false,
  may_be_unknown boolean not null default false,
  conditions text[] not null default '{}',
  constraint step_seq_once unique (block_id, seq),
  constraint step_key_once unique (block_id, key)
);
comment on table step is 'procedure: one row is a step of a block: what to do, its caution, its place on the drawing and the spec value it needs';

create table service (
  code text primary key,
  name text not null check (btrim(name) <> ''),
  blocks text[] not null,
  covers text[] not null default '{}',
  seq integer not null,
  version integer not null default 1
);
comment on table service is 'procedure: one row is a service a customer can want, the blocks it brings and the services it covers';
