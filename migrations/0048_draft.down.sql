drop table draft;
