CREATE TABLE sinks (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    position INTEGER NOT NULL,
    places INTEGER NOT NULL CHECK (places BETWEEN 1 AND 12),
    note TEXT NOT NULL,
    version INTEGER NOT NULL
) STRICT;

CREATE TABLE tanks (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    position INTEGER NOT NULL,
    stack_mm INTEGER NOT NULL CHECK (stack_mm BETWEEN 10 AND 2000),
    max_reels INTEGER NOT NULL CHECK (max_reels BETWEEN 1 AND 40),
    base_ml INTEGER NOT NULL CHECK (base_ml >= 0),
    min_ml INTEGER NOT NULL CHECK (min_ml >= 0),
    max_ml INTEGER NOT NULL CHECK (max_ml > 0),
    note TEXT NOT NULL,
    version INTEGER NOT NULL,
    CHECK (min_ml <= max_ml)
) STRICT;

CREATE TABLE reel_kinds (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL UNIQUE,
    height_mm INTEGER NOT NULL CHECK (height_mm BETWEEN 1 AND 500),
    cover_ml INTEGER NOT NULL CHECK (cover_ml >= 0),
    owned INTEGER NOT NULL CHECK (owned >= 0),
    drying_s INTEGER NOT NULL CHECK (drying_s >= 0)
) STRICT;

-- Minutes since local midnight; 1440 is the end of the day.
CREATE TABLE opening_hours (
    id INTEGER PRIMARY KEY,
    weekday INTEGER NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    from_min INTEGER NOT NULL CHECK (from_min BETWEEN 0 AND 1439),
    to_min INTEGER NOT NULL CHECK (to_min BETWEEN 1 AND 1440),
    CHECK (from_min < to_min)
) STRICT;

-- Every thing that can be promised: a place at a sink, a tank, one reel, a hanging place.
CREATE TABLE units (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('sink_place', 'tank', 'reel', 'hanging', 'loading')),
    of_id INTEGER NOT NULL,
    seat INTEGER NOT NULL CHECK (seat >= 1),
    UNIQUE (kind, of_id, seat)
) STRICT;

CREATE TABLE bookings (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    sink_id INTEGER NOT NULL REFERENCES sinks (id),
    date TEXT NOT NULL,
    from_wall TEXT NOT NULL,
    to_wall TEXT NOT NULL,
    second_pass INTEGER NOT NULL CHECK (second_pass IN (0, 1)),
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('booked', 'cancelled')),
    note TEXT NOT NULL,
    created_s INTEGER NOT NULL,
    version INTEGER NOT NULL,
    CHECK (from_s < to_s)
) STRICT;
CREATE INDEX bookings_by_date ON bookings (date);
CREATE INDEX bookings_of_member ON bookings (member_id, from_s);

-- Who holds which unit when, in half-open UTC seconds. Two holds of a unit never meet.
CREATE TABLE holds (
    id INTEGER PRIMARY KEY,
    unit_id INTEGER NOT NULL REFERENCES units (id),
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    why TEXT NOT NULL CHECK (why IN ('booking', 'run', 'offer', 'out_of_service')),
    booking_id INTEGER REFERENCES bookings (id),
    run_id INTEGER REFERENCES runs (id),
    CHECK (from_s < to_s),
    CHECK (why <> 'booking' OR booking_id IS NOT NULL),
    CHECK (why <> 'run' OR run_id IS NOT NULL)
) STRICT;
CREATE INDEX holds_of_unit ON holds (unit_id, from_s);
CREATE INDEX holds_of_booking ON holds (booking_id);
CREATE INDEX holds_of_run ON holds (run_id);
CREATE INDEX holds_by_time ON holds (from_s);

-- Exact, because the holds already there never overlap: only the latest that begins before the
-- new one ends can reach into it.
CREATE TRIGGER holds_never_meet BEFORE INSERT ON holds
WHEN (SELECT to_s FROM holds WHERE unit_id = NEW.unit_id AND from_s < NEW.to_s
      ORDER BY from_s DESC LIMIT 1) > NEW.from_s
BEGIN SELECT RAISE(ABORT, 'holds_never_meet'); END;

CREATE TRIGGER holds_never_change BEFORE UPDATE ON holds
BEGIN SELECT RAISE(ABORT, 'holds_never_change'); END;
