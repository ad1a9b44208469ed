alter table model drop constraint model_adjusters_check;
alter table model add constraint model_adjusters_check check (adjusters <@ array['rebound', 'compression', 'lockout', 'preload']);
