-- An offer from the waiting list needs its light like a booking: else the room could be booked in
-- another one before the offer is taken.
ALTER TABLE room_lights ADD COLUMN offer_id BIGINT REFERENCES offers (id);
ALTER TABLE room_lights DROP CONSTRAINT room_lights_check2;
ALTER TABLE room_lights ADD CONSTRAINT room_lights_check2
    CHECK (num_nonnulls(booking_id, run_id, offer_id) = 1);
CREATE INDEX room_lights_of_offer ON room_lights (offer_id);
