CREATE INDEX bookings_by_start ON bookings (from_s);
