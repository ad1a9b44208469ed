alter table model add column wheel_mm integer constraint model_wheel check (wheel_mm in (622, 584, 559, 507, 406)),
  add column stanchion_mm double precision constraint model_stanchion check (stanchion_mm between 20 and 50),
  add column crowns text constraint model_crowns check (crowns in ('one', 'two')),
  add column steerer text constraint model_steerer check (steerer in ('25.4', '28.6', '38.1', '28.6-38.1', '28.6-45.7')),
  add column axle text constraint model_axle check (axle in ('9x100', '12x100', '15x100', '15x110', '20x110', '9x135', '15x150'));
comment on column model.wheel_mm is 'bead seat diameter of the wheel as in ISO 5775';
comment on column model.steerer is 'its diameter in millimetres, of a tapered one at the stem and at the crown';
comment on column model.axle is 'its diameter and the width between the lowers, in millimetres';
