drop table move;
drop table balance;
drop table opened;
drop table batch;
