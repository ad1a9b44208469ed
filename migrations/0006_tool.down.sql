drop table calibration, tool;
