DROP TABLE run_events;
DROP FUNCTION run_events_never_change();
