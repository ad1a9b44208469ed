-- name_pattern and words_in are made by internal/db/words.sql, as the other
-- functions of erasing are; the number is there to take them away again.
select;
