-- The same column has had two keys since the second of these was added; every booking wrote both.
DROP INDEX bookings_by_start;
