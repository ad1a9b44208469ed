drop table library_file;
