drop table quiet_hours;
drop table consent;
drop table message;
