DROP TABLE bath_settings;
ALTER TABLE bath_entries RENAME TO bath_entries_before;
DROP TRIGGER bath_entries_never_change;
DROP TRIGGER bath_entries_never_go;
DROP INDEX bath_entries_of_bath;
CREATE TABLE bath_entries (
    id INTEGER PRIMARY KEY,
    bath_id INTEGER NOT NULL REFERENCES baths (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    kind TEXT NOT NULL CHECK (kind IN ('use', 'clip_test', 'correction')),
    milli INTEGER NOT NULL,
    seconds INTEGER,
    run_id INTEGER REFERENCES runs (id),
    corrects_id INTEGER REFERENCES bath_entries (id),
    note TEXT NOT NULL,
    UNIQUE (bath_id, run_id),
    CHECK (kind <> 'use' OR milli > 0),
    CHECK (kind <> 'clip_test' OR seconds > 0)
) STRICT;
INSERT INTO bath_entries
    SELECT id, bath_id, at_s, by_id, kind, milli, seconds, run_id, corrects_id, note
    FROM bath_entries_before WHERE kind IN ('use', 'clip_test', 'correction') ORDER BY id;
DROP TABLE bath_entries_before;
CREATE INDEX bath_entries_of_bath ON bath_entries (bath_id, at_s);
CREATE TRIGGER bath_entries_never_change BEFORE UPDATE ON bath_entries
BEGIN SELECT RAISE(ABORT, 'bath_entries_never_change'); END;
CREATE TRIGGER bath_entries_never_go BEFORE DELETE ON bath_entries
BEGIN SELECT RAISE(ABORT, 'bath_entries_never_change'); END;
DROP INDEX baths_by_number;
ALTER TABLE baths DROP COLUMN number;
ALTER TABLE baths DROP COLUMN place;
ALTER TABLE baths DROP COLUMN material;
ALTER TABLE baths DROP COLUMN way;
ALTER TABLE baths DROP COLUMN product_id;
ALTER TABLE baths DROP COLUMN water_parts;
ALTER TABLE baths DROP COLUMN least_ul;
ALTER TABLE baths DROP COLUMN half_keeps_days;
ALTER TABLE baths DROP COLUMN growth_permille;
ALTER TABLE baths DROP COLUMN growth_every_milli;
ALTER TABLE baths DROP COLUMN replenish_ul;
ALTER TABLE baths DROP COLUMN promotions;
ALTER TABLE baths DROP COLUMN hazards;
ALTER TABLE baths DROP COLUMN mixed_by;
