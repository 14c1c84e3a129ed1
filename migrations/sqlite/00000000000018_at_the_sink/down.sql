DROP TABLE run_events;
