drop table estimate_line, estimate;
