-- The version of the recipe each roll of a run is developed by, which the lead may have chosen.
ALTER TABLE run_rolls ADD COLUMN recipe_id INTEGER REFERENCES recipes (id);

-- When the test roll of a film that waits for one was found good.
ALTER TABLE rolls ADD COLUMN tested_s INTEGER;

-- How long film waits in this studio.
CREATE TABLE roll_customs (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    wait_days INTEGER NOT NULL CHECK (wait_days BETWEEN 1 AND 365),
    kept_days INTEGER NOT NULL CHECK (kept_days BETWEEN 1 AND 365),
    join_min INTEGER NOT NULL CHECK (join_min BETWEEN 0 AND 10080),
    version INTEGER NOT NULL
) STRICT;
INSERT INTO roll_customs (id, wait_days, kept_days, join_min, version) VALUES (1, 14, 21, 60, 1);

-- Sheets of labels of the studio's own, in tenths of a millimetre.
CREATE TABLE label_sheets (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    page_width INTEGER NOT NULL CHECK (page_width BETWEEN 500 AND 5000),
    page_height INTEGER NOT NULL CHECK (page_height BETWEEN 500 AND 5000),
    across INTEGER NOT NULL CHECK (across BETWEEN 1 AND 20),
    down INTEGER NOT NULL CHECK (down BETWEEN 1 AND 40),
    label_width INTEGER NOT NULL CHECK (label_width BETWEEN 300 AND 5000),
    label_height INTEGER NOT NULL CHECK (label_height BETWEEN 150 AND 5000),
    left_margin INTEGER NOT NULL CHECK (left_margin >= 0),
    top_margin INTEGER NOT NULL CHECK (top_margin >= 0),
    gap_across INTEGER NOT NULL CHECK (gap_across >= 0),
    gap_down INTEGER NOT NULL CHECK (gap_down >= 0),
    CHECK (left_margin + across * label_width + (across - 1) * gap_across <= page_width),
    CHECK (top_margin + down * label_height + (down - 1) * gap_down <= page_height)
) STRICT;

CREATE INDEX runs_coming ON runs (load_from_s);
