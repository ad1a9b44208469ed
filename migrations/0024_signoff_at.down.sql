drop index signoff_at;
