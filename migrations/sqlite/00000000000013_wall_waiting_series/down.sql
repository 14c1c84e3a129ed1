DROP TABLE occurrences;
DROP TABLE series;
DROP INDEX holds_of_offer;
ALTER TABLE holds DROP COLUMN offer_id;
DROP TABLE offers;
DROP TABLE wishes;
DROP TABLE wall_names;
DROP TABLE wall;
