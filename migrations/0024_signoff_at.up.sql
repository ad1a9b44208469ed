-- Rows come in the order of time, which is all this takes to find a year's.
create index signoff_at on signoff using brin (at);
