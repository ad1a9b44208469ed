drop function if exists name_pattern(text[]), words_in(bytea);
