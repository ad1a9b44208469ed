drop table hand_over, hold_end, hold, stage_change, job_service, job_symptom, job_words, job, visit_words, visit;
drop sequence job_number;
