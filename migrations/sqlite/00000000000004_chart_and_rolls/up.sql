CREATE TABLE films (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    speed INTEGER NOT NULL CHECK (speed BETWEEN 1 AND 25600),
    tabular INTEGER NOT NULL CHECK (tabular IN (0, 1))
) STRICT;

-- Least concentrate per roll's worth has no default anywhere: it is typed from the maker's sheet.
CREATE TABLE developers (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    water_parts INTEGER NOT NULL CHECK (water_parts BETWEEN 0 AND 1000),
    least_ul_per_roll INTEGER NOT NULL CHECK (least_ul_per_roll >= 0),
    factor_milli INTEGER CHECK (factor_milli BETWEEN 1000 AND 5000),
    hazards TEXT NOT NULL
) STRICT;

CREATE TABLE recipes (
    id INTEGER PRIMARY KEY,
    film_id INTEGER NOT NULL REFERENCES films (id),
    ei INTEGER NOT NULL CHECK (ei BETWEEN 1 AND 25600),
    developer_id INTEGER NOT NULL REFERENCES developers (id),
    temperature_mc INTEGER NOT NULL,
    agitation TEXT NOT NULL,
    pre_soak_s INTEGER NOT NULL CHECK (pre_soak_s >= 0),
    time_s INTEGER NOT NULL CHECK (time_s BETWEEN 1 AND 86400),
    source TEXT NOT NULL,
    entered_by INTEGER REFERENCES members (id),
    entered_s INTEGER NOT NULL
) STRICT;
CREATE INDEX recipes_of_film ON recipes (film_id, ei);

CREATE TABLE rolls (
    id INTEGER PRIMARY KEY,
    ticket TEXT NOT NULL UNIQUE,
    member_id INTEGER NOT NULL REFERENCES members (id),
    film_id INTEGER NOT NULL REFERENCES films (id),
    format TEXT NOT NULL,
    ei INTEGER NOT NULL CHECK (ei BETWEEN 1 AND 25600),
    recipe_id INTEGER REFERENCES recipes (id),
    state TEXT NOT NULL CHECK (state IN ('handed_in', 'planned', 'loaded', 'on_the_hook', 'ready',
        'picked_up', 're_fix', 'spoiled', 'lost', 'withdrawn')),
    note TEXT NOT NULL,
    due_s INTEGER,
    handed_in_s INTEGER NOT NULL,
    version INTEGER NOT NULL
) STRICT;
CREATE INDEX rolls_of_member ON rolls (member_id, handed_in_s);
CREATE INDEX rolls_by_state ON rolls (state, handed_in_s);

CREATE TABLE roll_events (
    id INTEGER PRIMARY KEY,
    roll_id INTEGER NOT NULL REFERENCES rolls (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    state TEXT NOT NULL,
    note TEXT NOT NULL
) STRICT;
CREATE INDEX roll_events_of_roll ON roll_events (roll_id, at_s);
