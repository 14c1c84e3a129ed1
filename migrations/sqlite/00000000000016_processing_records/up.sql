-- How each film was developed: written once, for ever, in words that outlive what they name.
CREATE TABLE processing_records (
    id INTEGER PRIMARY KEY,
    roll_id INTEGER NOT NULL REFERENCES rolls (id),
    run_id INTEGER REFERENCES runs (id),
    recipe_id INTEGER REFERENCES recipes (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    film_id INTEGER NOT NULL REFERENCES films (id),
    ei INTEGER NOT NULL,
    format TEXT NOT NULL,
    developer TEXT NOT NULL,
    agitation TEXT NOT NULL,
    tank TEXT NOT NULL,
    place INTEGER,
    concentrate_ul INTEGER NOT NULL CHECK (concentrate_ul >= 0),
    water_ul INTEGER NOT NULL CHECK (water_ul >= 0),
    planned_mc INTEGER NOT NULL,
    measured_mc INTEGER,
    planned_s INTEGER NOT NULL CHECK (planned_s >= 0),
    actual_s INTEGER CHECK (actual_s >= 0),
    baths TEXT NOT NULL,
    note TEXT NOT NULL,
    UNIQUE (roll_id, run_id)
) STRICT;
CREATE INDEX processing_records_of_film ON processing_records (film_id, ei, at_s);
CREATE INDEX processing_records_by_time ON processing_records (at_s);
CREATE INDEX processing_records_of_run ON processing_records (run_id);

CREATE TRIGGER processing_records_never_change BEFORE UPDATE ON processing_records
BEGIN SELECT RAISE(ABORT, 'processing_records_never_change'); END;
CREATE TRIGGER processing_records_never_go BEFORE DELETE ON processing_records
BEGIN SELECT RAISE(ABORT, 'processing_records_never_change'); END;

-- How the negatives came out.
CREATE TABLE result_notes (
    id INTEGER PRIMARY KEY,
    roll_id INTEGER NOT NULL REFERENCES rolls (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    look TEXT NOT NULL CHECK (look IN ('good', 'thin', 'dense', 'flat', 'contrasty', 'uneven',
        'stained', 'fogged', 'milky', 'scratched', 'other')),
    note TEXT NOT NULL
) STRICT;
CREATE INDEX result_notes_of_roll ON result_notes (roll_id, at_s);
