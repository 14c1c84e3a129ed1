-- A run in a shared developer bath, and what a run draws from the shelf: nothing where its developer is a
-- shared bath or the member's own.
ALTER TABLE runs ADD COLUMN developer_bath_id BIGINT REFERENCES baths (id);
ALTER TABLE runs ADD COLUMN shelf_ul BIGINT NOT NULL DEFAULT 0 CHECK (shelf_ul >= 0);
UPDATE runs SET shelf_ul = concentrate_ul;
CREATE INDEX runs_of_developer_bath ON runs (developer_bath_id);
