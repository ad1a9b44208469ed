drop table put_off;
