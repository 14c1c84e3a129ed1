DROP TRIGGER people_signed_out;
DROP TRIGGER people_sessions;
DROP TRIGGER people_gone;
DROP TRIGGER people_changed;
ALTER TABLE pulse DROP COLUMN people;
