drop view put_off_now;
drop table put_off;
