DROP TRIGGER people_sessions ON sessions;
DROP TRIGGER people_changed ON members;
DROP FUNCTION count_people;
ALTER TABLE pulse DROP COLUMN people;
