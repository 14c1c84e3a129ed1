-- An offer from the waiting list needs its light like a booking: else the room could be booked in
-- another one before the offer is taken. Made anew, because a check cannot be changed in place.
DROP TRIGGER room_lights_never_mix;
DROP TRIGGER room_lights_never_change;
CREATE TABLE kept_lights AS SELECT * FROM room_lights;
DROP TABLE room_lights;
CREATE TABLE room_lights (
    id INTEGER PRIMARY KEY,
    room_id INTEGER NOT NULL REFERENCES rooms (id),
    light TEXT NOT NULL CHECK (light IN ('white', 'safelight', 'dark')),
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    booking_id INTEGER REFERENCES bookings (id),
    run_id INTEGER REFERENCES runs (id),
    offer_id INTEGER REFERENCES offers (id),
    CHECK (from_s < to_s),
    CHECK (to_s - from_s <= 259200),
    CHECK ((booking_id IS NOT NULL) + (run_id IS NOT NULL) + (offer_id IS NOT NULL) = 1)
) STRICT;
INSERT INTO room_lights (id, room_id, light, from_s, to_s, booking_id, run_id)
    SELECT id, room_id, light, from_s, to_s, booking_id, run_id FROM kept_lights;
DROP TABLE kept_lights;
CREATE INDEX room_lights_by_time ON room_lights (room_id, from_s);
CREATE INDEX room_lights_when ON room_lights (from_s);
CREATE INDEX room_lights_of_booking ON room_lights (booking_id);
CREATE INDEX room_lights_of_run ON room_lights (run_id);
CREATE INDEX room_lights_of_offer ON room_lights (offer_id);

-- Exact, because no row is longer than three days.
CREATE TRIGGER room_lights_never_mix BEFORE INSERT ON room_lights
WHEN EXISTS (SELECT 1 FROM room_lights WHERE room_id = NEW.room_id AND from_s < NEW.to_s
    AND from_s > NEW.from_s - 259200 AND to_s > NEW.from_s AND light <> NEW.light)
BEGIN SELECT RAISE(ABORT, 'room_lights_never_mix'); END;

CREATE TRIGGER room_lights_never_change BEFORE UPDATE ON room_lights
BEGIN SELECT RAISE(ABORT, 'room_lights_never_change'); END;
