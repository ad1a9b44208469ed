drop table promise;
