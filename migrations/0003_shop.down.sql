drop table terms, closure, opening, shop;
