drop table unit_value;
drop table unit_inside;
