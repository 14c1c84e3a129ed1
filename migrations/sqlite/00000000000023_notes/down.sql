DROP TABLE induction_signatures;
DROP TABLE induction_items;
DROP TABLE note_acknowledgements;
DROP TABLE note_questions;
DROP TABLE note_fillings;
DROP TRIGGER safety_notes_never_go;
DROP TRIGGER safety_notes_never_change;
ALTER TABLE safety_notes DROP COLUMN withdrawn;
ALTER TABLE safety_notes DROP COLUMN change_note;
