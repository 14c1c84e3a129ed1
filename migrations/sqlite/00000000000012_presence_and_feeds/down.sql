DROP INDEX bookings_by_start;
DROP TABLE feeds;
DROP TABLE no_shows;
DROP TABLE arrivals;
DROP TABLE closing_lines;
DROP TABLE closings;
DROP TABLE closing_items;
DROP TABLE visits;
