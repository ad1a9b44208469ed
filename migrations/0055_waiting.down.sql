drop table picture_waiting;
