DROP INDEX runs_of_developer_bath;
ALTER TABLE runs DROP COLUMN shelf_ul;
ALTER TABLE runs DROP COLUMN developer_bath_id;
