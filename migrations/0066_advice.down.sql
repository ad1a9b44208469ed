drop table advice;
drop table advice_run;
drop table advice_setting;
