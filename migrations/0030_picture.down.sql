drop table finding_picture;
alter table finding drop constraint finding_of_job;
drop table picture_shown, picture;
