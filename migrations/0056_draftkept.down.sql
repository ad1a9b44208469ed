alter table draft drop column apart_of, drop column hand, drop column version;
