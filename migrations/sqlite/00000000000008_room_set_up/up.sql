-- A room has one light at a time; sinks and stations stand in a room.
CREATE TABLE rooms (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE,
    position INTEGER NOT NULL,
    note TEXT NOT NULL,
    version INTEGER NOT NULL
) STRICT;
INSERT INTO rooms (name, position, note, version) VALUES ('Wet room', 1, '', 1);

ALTER TABLE sinks ADD COLUMN room_id INTEGER REFERENCES rooms (id);
ALTER TABLE sinks ADD COLUMN is_sink INTEGER NOT NULL DEFAULT 1 CHECK (is_sink IN (0, 1));
ALTER TABLE sinks ADD COLUMN tanks_at_once INTEGER NOT NULL DEFAULT 2 CHECK (tanks_at_once BETWEEN 0 AND 40);
ALTER TABLE sinks ADD COLUMN retired INTEGER NOT NULL DEFAULT 0 CHECK (retired IN (0, 1));
UPDATE sinks SET room_id = (SELECT min(id) FROM rooms);

-- min_ml is the volume that covers by inversion, rotary_ml the one by rotation, max_ml leaves air.
ALTER TABLE tanks ADD COLUMN rotary_ml INTEGER CHECK (rotary_ml > 0);
ALTER TABLE tanks ADD COLUMN retired INTEGER NOT NULL DEFAULT 0 CHECK (retired IN (0, 1));

-- What a tank holds of one format alone, as a lead says it: "5 of 135 or 3 of 120".
CREATE TABLE tank_loads (
    tank_id INTEGER NOT NULL REFERENCES tanks (id),
    format TEXT NOT NULL,
    most INTEGER NOT NULL CHECK (most BETWEEN 1 AND 40),
    PRIMARY KEY (tank_id, format)
) STRICT;

-- One pool of reels may serve several formats, set to another width and height.
CREATE TABLE reel_formats (
    reel_id INTEGER NOT NULL REFERENCES reel_kinds (id),
    format TEXT NOT NULL,
    height_mm INTEGER NOT NULL CHECK (height_mm BETWEEN 1 AND 500),
    cover_ml INTEGER NOT NULL CHECK (cover_ml >= 0),
    PRIMARY KEY (reel_id, format)
) STRICT;
ALTER TABLE reel_kinds ADD COLUMN position INTEGER NOT NULL DEFAULT 0;
ALTER TABLE reel_kinds ADD COLUMN note TEXT NOT NULL DEFAULT '';
ALTER TABLE reel_kinds ADD COLUMN version INTEGER NOT NULL DEFAULT 1;
INSERT INTO reel_formats (reel_id, format, height_mm, cover_ml)
    SELECT id, kind, height_mm, cover_ml FROM reel_kinds;

-- Loading rooms, washers and hanging places; whatever else can be booked is a sink that is none.
CREATE TABLE stations (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('loading', 'washer', 'hanging')),
    name TEXT NOT NULL UNIQUE,
    position INTEGER NOT NULL,
    places INTEGER NOT NULL CHECK (places BETWEEN 1 AND 200),
    room_id INTEGER NOT NULL REFERENCES rooms (id),
    drying_s INTEGER NOT NULL CHECK (drying_s >= 0),
    note TEXT NOT NULL,
    retired INTEGER NOT NULL CHECK (retired IN (0, 1)),
    version INTEGER NOT NULL
) STRICT;

-- Days that are not like their weekday. No hours written: closed.
CREATE TABLE special_days (
    id INTEGER PRIMARY KEY,
    from_date TEXT NOT NULL,
    to_date TEXT NOT NULL,
    hours TEXT NOT NULL,
    reason TEXT NOT NULL,
    CHECK (from_date <= to_date)
) STRICT;
CREATE INDEX special_days_by_date ON special_days (to_date);

-- Something, or so many of it, not to be had for a while. Its holds are in holds.
CREATE TABLE outages (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    of_id INTEGER NOT NULL,
    count INTEGER NOT NULL CHECK (count >= 1),
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    reason TEXT NOT NULL,
    made_s INTEGER NOT NULL,
    made_by INTEGER REFERENCES members (id),
    CHECK (from_s < to_s)
) STRICT;
CREATE INDEX outages_by_end ON outages (to_s);

-- The studio's limits on bookings; an empty one does not limit.
CREATE TABLE booking_limits (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    grid_min INTEGER NOT NULL CHECK (grid_min IN (5, 10, 15, 20, 30, 60)),
    longest_min INTEGER NOT NULL CHECK (longest_min BETWEEN 5 AND 1440),
    per_week INTEGER CHECK (per_week >= 1),
    minutes_per_week INTEGER CHECK (minutes_per_week >= 5),
    ahead_days INTEGER NOT NULL CHECK (ahead_days BETWEEN 1 AND 730),
    notice_min INTEGER NOT NULL CHECK (notice_min BETWEEN 0 AND 20160),
    gap_min INTEGER NOT NULL CHECK (gap_min BETWEEN 0 AND 240),
    newcomers_per_lead INTEGER NOT NULL CHECK (newcomers_per_lead BETWEEN 0 AND 20),
    peak_minutes_per_week INTEGER CHECK (peak_minutes_per_week >= 5),
    peak_opens_min INTEGER NOT NULL CHECK (peak_opens_min BETWEEN 0 AND 20160),
    version INTEGER NOT NULL
) STRICT;
INSERT INTO booking_limits VALUES (1, 15, 360, NULL, NULL, 60, 0, 0, 2, NULL, 1440, 1);

CREATE TABLE peak_hours (
    id INTEGER PRIMARY KEY,
    weekday INTEGER NOT NULL CHECK (weekday BETWEEN 1 AND 7),
    from_min INTEGER NOT NULL CHECK (from_min BETWEEN 0 AND 1439),
    to_min INTEGER NOT NULL CHECK (to_min BETWEEN 1 AND 1440),
    CHECK (from_min < to_min)
) STRICT;

ALTER TABLE bookings ADD COLUMN light TEXT NOT NULL DEFAULT 'white' CHECK (light IN ('white', 'safelight', 'dark'));
ALTER TABLE bookings ADD COLUMN gap_s INTEGER NOT NULL DEFAULT 0 CHECK (gap_s >= 0);
ALTER TABLE bookings ADD COLUMN to_second_pass INTEGER NOT NULL DEFAULT 0 CHECK (to_second_pass IN (0, 1));
ALTER TABLE bookings ADD COLUMN made_by INTEGER REFERENCES members (id);
ALTER TABLE bookings ADD COLUMN changed_s INTEGER NOT NULL DEFAULT 0;
UPDATE bookings SET made_by = member_id, changed_s = created_s;
CREATE INDEX bookings_by_time ON bookings (from_s);

-- The light a booking or run needs in a room. Two different lights never meet in one room.
CREATE TABLE room_lights (
    id INTEGER PRIMARY KEY,
    room_id INTEGER NOT NULL REFERENCES rooms (id),
    light TEXT NOT NULL CHECK (light IN ('white', 'safelight', 'dark')),
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    booking_id INTEGER REFERENCES bookings (id),
    run_id INTEGER REFERENCES runs (id),
    CHECK (from_s < to_s),
    CHECK (to_s - from_s <= 259200),
    CHECK ((booking_id IS NULL) <> (run_id IS NULL))
) STRICT;
CREATE INDEX room_lights_by_time ON room_lights (room_id, from_s);
CREATE INDEX room_lights_when ON room_lights (from_s);
CREATE INDEX room_lights_of_booking ON room_lights (booking_id);
CREATE INDEX room_lights_of_run ON room_lights (run_id);

-- Exact, because no row is longer than three days.
CREATE TRIGGER room_lights_never_mix BEFORE INSERT ON room_lights
WHEN EXISTS (SELECT 1 FROM room_lights WHERE room_id = NEW.room_id AND from_s < NEW.to_s
    AND from_s > NEW.from_s - 259200 AND to_s > NEW.from_s AND light <> NEW.light)
BEGIN SELECT RAISE(ABORT, 'room_lights_never_mix'); END;

CREATE TRIGGER room_lights_never_change BEFORE UPDATE ON room_lights
BEGIN SELECT RAISE(ABORT, 'room_lights_never_change'); END;

-- Both made anew, to take more kinds of units and to bound how long a hold may be. A bounded hold
-- can be found by its beginning alone; an outage may last, and is found by its own row.
CREATE TABLE kept_holds AS SELECT * FROM holds;
DROP TABLE holds;
CREATE TABLE kept_units AS SELECT * FROM units;
DROP TABLE units;
CREATE TABLE units (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN
        ('sink_place', 'sink_tank', 'tank', 'reel', 'hanging', 'loading', 'washer')),
    of_id INTEGER NOT NULL,
    seat INTEGER NOT NULL CHECK (seat >= 1),
    UNIQUE (kind, of_id, seat)
) STRICT;
INSERT INTO units (id, kind, of_id, seat) SELECT id, kind, of_id, seat FROM kept_units;
DROP TABLE kept_units;
CREATE TABLE holds (
    id INTEGER PRIMARY KEY,
    unit_id INTEGER NOT NULL REFERENCES units (id),
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    why TEXT NOT NULL CHECK (why IN ('booking', 'run', 'offer', 'out_of_service')),
    booking_id INTEGER REFERENCES bookings (id),
    run_id INTEGER REFERENCES runs (id),
    outage_id INTEGER REFERENCES outages (id),
    CHECK (from_s < to_s),
    CHECK (why = 'out_of_service' OR to_s - from_s <= 259200),
    CHECK (why <> 'booking' OR booking_id IS NOT NULL),
    CHECK (why <> 'run' OR run_id IS NOT NULL)
) STRICT;
INSERT INTO holds (id, unit_id, from_s, to_s, why, booking_id, run_id)
    SELECT id, unit_id, from_s, to_s, why, booking_id, run_id FROM kept_holds;
DROP TABLE kept_holds;
CREATE INDEX holds_of_unit ON holds (unit_id, from_s);
CREATE INDEX holds_of_booking ON holds (booking_id);
CREATE INDEX holds_of_run ON holds (run_id);
CREATE INDEX holds_of_outage ON holds (outage_id);
CREATE INDEX holds_by_time ON holds (from_s);

-- Exact, because the holds already there never overlap: only the latest that begins before the
-- new one ends can reach into it.
CREATE TRIGGER holds_never_meet BEFORE INSERT ON holds
WHEN (SELECT to_s FROM holds WHERE unit_id = NEW.unit_id AND from_s < NEW.to_s
      ORDER BY from_s DESC LIMIT 1) > NEW.from_s
BEGIN SELECT RAISE(ABORT, 'holds_never_meet'); END;

CREATE TRIGGER holds_never_change BEFORE UPDATE ON holds
BEGIN SELECT RAISE(ABORT, 'holds_never_change'); END;

INSERT INTO units (kind, of_id, seat)
    WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 40)
    SELECT 'sink_tank', sinks.id, n.i FROM sinks JOIN n ON n.i <= sinks.tanks_at_once;
