alter table intent drop column device_id;
comment on table intent is 'intent: one row is one act of one person; answer is where it led, null only inside its own transaction';
alter table attempt drop column device_id;
comment on table attempt is 'staff: one row is a try to sign in, kept for the growing delay';
alter table staff drop column pin_hash;
drop table device;
