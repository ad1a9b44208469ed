drop table step_asked;
drop table service_taken_off;
