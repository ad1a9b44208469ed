drop table finding_seen, finding_told;
