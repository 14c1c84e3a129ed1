DROP INDEX room_lights_of_offer;
DELETE FROM room_lights WHERE offer_id IS NOT NULL;
ALTER TABLE room_lights DROP CONSTRAINT room_lights_check2;
ALTER TABLE room_lights ADD CONSTRAINT room_lights_check2
    CHECK ((booking_id IS NULL) <> (run_id IS NULL));
ALTER TABLE room_lights DROP COLUMN offer_id;
