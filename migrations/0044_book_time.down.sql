drop table pin, book_time;
