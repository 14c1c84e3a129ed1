DROP TABLE holds;
DROP FUNCTION holds_never_change();
DROP TABLE bookings;
DROP TABLE units;
DROP TABLE opening_hours;
DROP TABLE reel_kinds;
DROP TABLE tanks;
DROP TABLE sinks;
