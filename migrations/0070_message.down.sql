drop table consent;
drop table message;
