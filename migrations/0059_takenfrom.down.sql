alter table visit drop column draft_root;
