drop table finding_withdrawn, finding;
