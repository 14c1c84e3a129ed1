DROP TABLE trail;
DROP FUNCTION trail_keeps_its_time();
DROP FUNCTION trail_never_changes();
DROP TABLE keeping;
