DROP TABLE room_lights;
DROP INDEX bookings_by_time;
ALTER TABLE bookings DROP COLUMN changed_s;
ALTER TABLE bookings DROP COLUMN made_by;
ALTER TABLE bookings DROP COLUMN to_second_pass;
ALTER TABLE bookings DROP COLUMN gap_s;
ALTER TABLE bookings DROP COLUMN light;
DROP TABLE peak_hours;
DROP TABLE booking_limits;
DELETE FROM holds WHERE unit_id IN (SELECT id FROM units WHERE kind IN ('sink_tank', 'washer'));
DELETE FROM units WHERE kind IN ('sink_tank', 'washer');
CREATE TABLE kept_holds AS SELECT * FROM holds;
DROP TABLE holds;
CREATE TABLE kept_units AS SELECT * FROM units;
DROP TABLE units;
CREATE TABLE units (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('sink_place', 'tank', 'reel', 'hanging', 'loading')),
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
    CHECK (from_s < to_s),
    CHECK (why <> 'booking' OR booking_id IS NOT NULL),
    CHECK (why <> 'run' OR run_id IS NOT NULL)
) STRICT;
INSERT INTO holds (id, unit_id, from_s, to_s, why, booking_id, run_id)
    SELECT id, unit_id, from_s, to_s, why, booking_id, run_id FROM kept_holds;
DROP TABLE kept_holds;
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
DROP TABLE outages;
DROP TABLE special_days;
DROP TABLE stations;
DROP TABLE reel_formats;
ALTER TABLE reel_kinds DROP COLUMN version;
ALTER TABLE reel_kinds DROP COLUMN note;
ALTER TABLE reel_kinds DROP COLUMN position;
DROP TABLE tank_loads;
ALTER TABLE tanks DROP COLUMN retired;
ALTER TABLE tanks DROP COLUMN rotary_ml;
ALTER TABLE sinks DROP COLUMN retired;
ALTER TABLE sinks DROP COLUMN tanks_at_once;
ALTER TABLE sinks DROP COLUMN is_sink;
ALTER TABLE sinks DROP COLUMN room_id;
DROP TABLE rooms;
