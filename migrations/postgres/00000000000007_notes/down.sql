DROP TABLE safety_notes;
