-- What stands on the shelf: products, the lots they came in, and every bottle or packet of them.
-- Amounts are microlitres of a liquid and milligrams of a powder; prices the smallest coin.
CREATE TABLE products (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL CHECK (kind IN ('fixer', 'stop', 'wash_aid', 'wetting_agent', 'developer', 'bleach', 'other')),
    form TEXT NOT NULL CHECK (form IN ('concentrate', 'powder', 'ready')),
    developer_id INTEGER REFERENCES developers (id),
    water_parts INTEGER CHECK (water_parts >= 0),
    mg_per_litre INTEGER CHECK (mg_per_litre > 0),
    rolls_per_litre_milli INTEGER CHECK (rolls_per_litre_milli > 0),
    working_keeps_days INTEGER CHECK (working_keeps_days > 0),
    opened_keeps_days INTEGER CHECK (opened_keeps_days > 0),
    size INTEGER NOT NULL CHECK (size > 0),
    reorder_at INTEGER NOT NULL CHECK (reorder_at >= 0),
    price INTEGER NOT NULL CHECK (price >= 0),
    hazards TEXT NOT NULL,
    note TEXT NOT NULL,
    version INTEGER NOT NULL
) STRICT;
CREATE INDEX products_of_developer ON products (developer_id);

CREATE TABLE lots (
    id INTEGER PRIMARY KEY,
    product_id INTEGER NOT NULL REFERENCES products (id),
    number TEXT NOT NULL,
    expires TEXT,
    received_s INTEGER NOT NULL,
    UNIQUE (product_id, number)
) STRICT;

-- A bottle holds what is left in it: never less than nothing, never more than it takes.
CREATE TABLE bottles (
    id INTEGER PRIMARY KEY,
    lot_id INTEGER NOT NULL REFERENCES lots (id),
    size INTEGER NOT NULL CHECK (size > 0),
    held INTEGER NOT NULL CHECK (held >= 0),
    price INTEGER NOT NULL CHECK (price >= 0),
    opened_s INTEGER,
    tested_s INTEGER,
    emptied_s INTEGER,
    set_aside_s INTEGER,
    set_aside_why TEXT NOT NULL,
    version INTEGER NOT NULL,
    CHECK (held <= size)
) STRICT;
CREATE INDEX bottles_of_lot ON bottles (lot_id);

-- Every change of what a bottle holds: added to, never edited. Amounts taken out are positive.
CREATE TABLE draws (
    id INTEGER PRIMARY KEY,
    bottle_id INTEGER NOT NULL REFERENCES bottles (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    kind TEXT NOT NULL CHECK (kind IN ('draw', 'count', 'set_aside', 'test')),
    amount INTEGER NOT NULL,
    cost INTEGER NOT NULL,
    bath_id INTEGER REFERENCES baths (id),
    run_id INTEGER REFERENCES runs (id),
    why TEXT NOT NULL,
    CHECK (kind <> 'draw' OR amount > 0)
) STRICT;
CREATE INDEX draws_of_bottle ON draws (bottle_id, at_s);
CREATE INDEX draws_of_bath ON draws (bath_id);
CREATE INDEX draws_of_run ON draws (run_id);
CREATE INDEX draws_by_time ON draws (at_s);

CREATE TRIGGER draws_never_change BEFORE UPDATE ON draws
BEGIN SELECT RAISE(ABORT, 'draws_never_change'); END;
CREATE TRIGGER draws_never_go BEFORE DELETE ON draws
BEGIN SELECT RAISE(ABORT, 'draws_never_change'); END;
