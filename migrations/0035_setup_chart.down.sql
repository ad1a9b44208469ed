drop table setup_row;
drop table setup_chart;
