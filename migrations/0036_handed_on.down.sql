drop table handed_on;
