DROP TABLE holds;
DROP TABLE bookings;
DROP TABLE units;
DROP TABLE opening_hours;
DROP TABLE reel_kinds;
DROP TABLE tanks;
DROP TABLE sinks;
