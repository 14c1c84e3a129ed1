ALTER TABLE holds DROP CONSTRAINT holds_run_id_fkey;
ALTER TABLE bath_entries DROP CONSTRAINT bath_entries_run_id_fkey;
DROP TABLE run_rolls;
DROP TABLE runs;
DROP TABLE day_plans;
