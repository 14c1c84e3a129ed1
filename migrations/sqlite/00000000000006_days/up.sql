CREATE TABLE day_plans (
    id INTEGER PRIMARY KEY,
    date TEXT NOT NULL,
    number INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('draft', 'published', 'replaced')),
    made_s INTEGER NOT NULL,
    made_by INTEGER NOT NULL REFERENCES members (id),
    published_s INTEGER,
    left_over TEXT NOT NULL,
    UNIQUE (date, number),
    CHECK (state <> 'published' OR published_s IS NOT NULL)
) STRICT;

CREATE TABLE runs (
    id INTEGER PRIMARY KEY,
    plan_id INTEGER NOT NULL REFERENCES day_plans (id),
    number INTEGER NOT NULL,
    sink_id INTEGER NOT NULL REFERENCES sinks (id),
    tank_id INTEGER NOT NULL REFERENCES tanks (id),
    developer_id INTEGER NOT NULL REFERENCES developers (id),
    fixer_id INTEGER REFERENCES baths (id),
    load_from_s INTEGER NOT NULL,
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    temperature_mc INTEGER NOT NULL,
    agitation TEXT NOT NULL,
    pre_soak_s INTEGER NOT NULL,
    time_s INTEGER NOT NULL CHECK (time_s > 0),
    fix_s INTEGER NOT NULL,
    developer_ul INTEGER NOT NULL,
    concentrate_ul INTEGER NOT NULL,
    water_ul INTEGER NOT NULL,
    fixer_milli INTEGER NOT NULL,
    why TEXT NOT NULL,
    ended_s INTEGER,
    ended_by INTEGER REFERENCES members (id),
    UNIQUE (plan_id, number),
    CHECK (developer_ul = concentrate_ul + water_ul)
) STRICT;

CREATE TABLE run_rolls (
    run_id INTEGER NOT NULL REFERENCES runs (id),
    place INTEGER NOT NULL CHECK (place >= 1),
    roll_id INTEGER NOT NULL REFERENCES rolls (id),
    PRIMARY KEY (run_id, place),
    UNIQUE (run_id, roll_id)
) STRICT;
CREATE INDEX run_rolls_of_roll ON run_rolls (roll_id);
