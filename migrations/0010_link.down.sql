drop table interval_rule, link;
