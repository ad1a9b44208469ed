alter table message add column failing_since timestamptz;
comment on column message.failing_since is 'when the first of the tries that all failed did so; null where none has, where it is sent, or since somebody last had it sent again';
create index message_sent_at on message (sent_at) where sent_at is not null;
