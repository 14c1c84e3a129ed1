DROP INDEX runs_coming;
DROP TABLE label_sheets;
DROP TABLE roll_customs;
ALTER TABLE rolls DROP COLUMN tested_s;
ALTER TABLE run_rolls DROP COLUMN recipe_id;
