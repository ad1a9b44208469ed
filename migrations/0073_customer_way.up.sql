create table customer_way (
  customer_id bigint primary key references customer,
  pressure_unit text constraint customer_way_pressure_unit check (pressure_unit in ('psi', 'bar', 'kPa')),
  mass_unit text constraint customer_way_mass_unit check (mass_unit in ('kg', 'lb')),
  torque_unit text constraint customer_way_torque_unit check (torque_unit in ('N·m', 'lbf·in')),
  days text constraint customer_way_days check (days in ('day month', 'month day', 'year month day')),
  clock text constraint customer_way_clock check (clock in ('24', '12')),
  decimals text constraint customer_way_decimals check (decimals in ('point', 'comma')),
  changed_at timestamptz not null,
  version int not null default 1
);
comment on table customer_way is 'customer: one row is how a customer reads quantities, days, times and numbers; what is null is the shop''s way';
