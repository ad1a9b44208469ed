drop table sheet_value, sheet, document, model;
