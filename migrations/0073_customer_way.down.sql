drop table customer_way;
