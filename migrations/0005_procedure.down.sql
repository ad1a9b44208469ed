drop table service, step, block;
