-- Where used solutions are collected: each container takes one kind and nothing else.
CREATE TABLE waste_containers (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    accepts TEXT NOT NULL CHECK (accepts IN ('fixer', 'stop', 'wash_aid', 'wetting_agent', 'developer', 'bleach', 'rinse')),
    holds_ul INTEGER NOT NULL CHECK (holds_ul > 0),
    contact TEXT NOT NULL,
    note TEXT NOT NULL,
    version INTEGER NOT NULL
) STRICT;

-- The waste log: added to, never edited. What goes in is positive, a pick-up empties.
CREATE TABLE waste_log (
    id INTEGER PRIMARY KEY,
    container_id INTEGER NOT NULL REFERENCES waste_containers (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    kind TEXT NOT NULL CHECK (kind IN ('fixer', 'stop', 'wash_aid', 'wetting_agent', 'developer', 'bleach', 'rinse', 'picked_up')),
    what TEXT NOT NULL,
    bath_id INTEGER REFERENCES baths (id),
    volume_ul INTEGER NOT NULL,
    silver_least_mg INTEGER NOT NULL CHECK (silver_least_mg >= 0),
    silver_most_mg INTEGER NOT NULL,
    assumed TEXT NOT NULL,
    note TEXT NOT NULL,
    CHECK (silver_most_mg >= silver_least_mg),
    CHECK (kind = 'picked_up' OR volume_ul > 0)
) STRICT;
CREATE INDEX waste_log_of_container ON waste_log (container_id, id);

-- What may be done with a kind of waste, as a lead typed it; the latest of a kind counts.
CREATE TABLE waste_rules (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('fixer', 'stop', 'wash_aid', 'wetting_agent', 'developer', 'bleach', 'rinse')),
    rule TEXT NOT NULL CHECK (length(rule) > 0),
    authority TEXT NOT NULL CHECK (length(authority) > 0),
    dated TEXT NOT NULL,
    by_id INTEGER REFERENCES members (id),
    at_s INTEGER NOT NULL
) STRICT;
CREATE INDEX waste_rules_of_kind ON waste_rules (kind, id);

CREATE TRIGGER waste_log_never_changes BEFORE UPDATE ON waste_log
BEGIN SELECT RAISE(ABORT, 'waste_log_never_changes'); END;
CREATE TRIGGER waste_log_never_goes BEFORE DELETE ON waste_log
BEGIN SELECT RAISE(ABORT, 'waste_log_never_changes'); END;
