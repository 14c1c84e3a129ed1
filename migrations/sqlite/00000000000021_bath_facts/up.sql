-- Baths: where they stand, what they were mixed from, and every judge of what they can still take.
ALTER TABLE baths ADD COLUMN number INTEGER NOT NULL DEFAULT 0;
UPDATE baths SET number = id;
CREATE UNIQUE INDEX baths_by_number ON baths (number);
ALTER TABLE baths ADD COLUMN place TEXT NOT NULL DEFAULT 'working' CHECK (place IN ('working', 'bath_1', 'bath_2', 'reserve'));
ALTER TABLE baths ADD COLUMN material TEXT NOT NULL DEFAULT 'film' CHECK (material IN ('film', 'paper'));
ALTER TABLE baths ADD COLUMN way TEXT NOT NULL DEFAULT 'shared' CHECK (way IN ('shared', 're_used', 'replenished', 'stock'));
ALTER TABLE baths ADD COLUMN product_id INTEGER REFERENCES products (id);
ALTER TABLE baths ADD COLUMN water_parts INTEGER;
ALTER TABLE baths ADD COLUMN least_ul INTEGER NOT NULL DEFAULT 0 CHECK (least_ul >= 0);
ALTER TABLE baths ADD COLUMN half_keeps_days INTEGER CHECK (half_keeps_days > 0);
ALTER TABLE baths ADD COLUMN growth_permille INTEGER CHECK (growth_permille >= 0);
ALTER TABLE baths ADD COLUMN growth_every_milli INTEGER CHECK (growth_every_milli > 0);
ALTER TABLE baths ADD COLUMN replenish_ul INTEGER CHECK (replenish_ul > 0);
ALTER TABLE baths ADD COLUMN promotions INTEGER NOT NULL DEFAULT 0 CHECK (promotions >= 0);
ALTER TABLE baths ADD COLUMN hazards TEXT NOT NULL DEFAULT '';
ALTER TABLE baths ADD COLUMN mixed_by INTEGER REFERENCES members (id);

-- A check cannot be changed in place here: the ledger is written over into a table with the new one.
ALTER TABLE bath_entries RENAME TO bath_entries_before;
DROP TRIGGER bath_entries_never_change;
DROP TRIGGER bath_entries_never_go;
DROP INDEX bath_entries_of_bath;
CREATE TABLE bath_entries (
    id INTEGER PRIMARY KEY,
    bath_id INTEGER NOT NULL REFERENCES baths (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    kind TEXT NOT NULL CHECK (kind IN
        ('use', 'clip_test', 'correction', 'top_up', 'replenish', 'drawn', 'scrap_test', 'moved', 'recalled', 'retired')),
    milli INTEGER NOT NULL,
    seconds INTEGER,
    run_id INTEGER REFERENCES runs (id),
    corrects_id INTEGER REFERENCES bath_entries (id),
    note TEXT NOT NULL,
    film_milli INTEGER NOT NULL DEFAULT 0,
    volume_ul INTEGER NOT NULL DEFAULT 0,
    film TEXT NOT NULL DEFAULT '',
    temperature_mc INTEGER,
    pre_wet INTEGER NOT NULL DEFAULT 0 CHECK (pre_wet IN (0, 1)),
    passed INTEGER CHECK (passed IN (0, 1)),
    UNIQUE (bath_id, run_id),
    CHECK (kind <> 'use' OR milli > 0),
    CHECK (kind <> 'clip_test' OR seconds > 0),
    CHECK (kind <> 'correction' OR corrects_id IS NOT NULL)
) STRICT;
INSERT INTO bath_entries (id, bath_id, at_s, by_id, kind, milli, seconds, run_id, corrects_id, note, film_milli)
    SELECT id, bath_id, at_s, by_id, kind, milli, seconds, run_id, corrects_id, note,
        CASE WHEN kind = 'use' THEN milli ELSE 0 END
    FROM bath_entries_before ORDER BY id;
DROP TABLE bath_entries_before;
CREATE INDEX bath_entries_of_bath ON bath_entries (bath_id, at_s);
CREATE TRIGGER bath_entries_never_change BEFORE UPDATE ON bath_entries
BEGIN SELECT RAISE(ABORT, 'bath_entries_never_change'); END;
CREATE TRIGGER bath_entries_never_go BEFORE DELETE ON bath_entries
BEGIN SELECT RAISE(ABORT, 'bath_entries_never_change'); END;

-- The figures every bath is judged by; each can be changed by a lead.
CREATE TABLE bath_settings (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    margin_percent INTEGER NOT NULL CHECK (margin_percent BETWEEN 10 AND 100),
    tabular_percent INTEGER NOT NULL CHECK (tabular_percent BETWEEN 100 AND 300),
    carry_over_ul INTEGER NOT NULL CHECK (carry_over_ul BETWEEN 0 AND 100000),
    second_bath_percent INTEGER NOT NULL CHECK (second_bath_percent BETWEEN 1 AND 100),
    most_promotions INTEGER NOT NULL CHECK (most_promotions BETWEEN 0 AND 20),
    opened_long_days INTEGER NOT NULL CHECK (opened_long_days BETWEEN 1 AND 3650),
    currency TEXT NOT NULL,
    version INTEGER NOT NULL
) STRICT;
INSERT INTO bath_settings VALUES (1, 75, 150, 15000, 10, 5, 60, 'EUR', 1);
