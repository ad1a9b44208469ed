alter table proposal drop constraint proposal_day, drop column minutes, drop column service_code, drop column parts_on,
  drop column ready_at, drop column expected_at, drop column proposed_at, drop column instead_of;
