alter table draft drop column root, drop column apart_of, drop column hand, drop column version;
