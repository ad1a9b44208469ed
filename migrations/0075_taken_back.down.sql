drop table book_taken_back;
drop table reading_taken_back;
alter table hour_reading drop constraint hour_reading_of_unit;
-- What was taken back counts again.
insert into due_stale (tx, unit_id) select txid_current(), id from unit on conflict do nothing;
