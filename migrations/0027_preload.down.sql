-- What its preload is turned by is no longer said of a model.
update model set adjusters = array_remove(adjusters, 'preload') where 'preload' = any (adjusters);
alter table model drop constraint model_adjusters_check;
alter table model add constraint model_adjusters_check check (adjusters <@ array['rebound', 'compression', 'lockout']);
