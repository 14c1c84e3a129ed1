CREATE TABLE baths (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('fixer', 'stop', 'wash_aid', 'wetting_agent', 'developer')),
    label TEXT NOT NULL UNIQUE,
    volume_ul INTEGER NOT NULL CHECK (volume_ul > 0),
    capacity_milli INTEGER NOT NULL CHECK (capacity_milli > 0),
    fix_s INTEGER NOT NULL CHECK (fix_s >= 0),
    mixed_s INTEGER NOT NULL,
    keeps_days INTEGER NOT NULL CHECK (keeps_days > 0),
    retired_s INTEGER
) STRICT;

-- The ledger: added to, never edited. A run uses a bath once.
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
CREATE INDEX bath_entries_of_bath ON bath_entries (bath_id, at_s);

CREATE TRIGGER bath_entries_never_change BEFORE UPDATE ON bath_entries
BEGIN SELECT RAISE(ABORT, 'bath_entries_never_change'); END;
CREATE TRIGGER bath_entries_never_go BEFORE DELETE ON bath_entries
BEGIN SELECT RAISE(ABORT, 'bath_entries_never_change'); END;
