alter table sheet_step drop column unsure;
drop trigger frozen on sheet_value;
drop trigger frozen on sheet;
drop function refuse_frozen_value, refuse_thaw;
