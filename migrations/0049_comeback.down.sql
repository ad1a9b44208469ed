drop table job_mark;
alter table job_words drop column left_on, drop column why_back, drop column payer_words;
drop index job_comeback;
alter table job drop constraint job_authorised, drop constraint job_comeback_free,
  drop column authorised_at, drop column payer, drop column comeback_of;
