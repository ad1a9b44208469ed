drop table setup_code, attempt, session, staff;
