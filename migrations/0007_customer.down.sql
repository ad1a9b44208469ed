drop table unit, bike, customer;
