ALTER TABLE planning_jobs DROP COLUMN steps_all;
ALTER TABLE planning_jobs DROP COLUMN steps_done;
ALTER TABLE planning_jobs DROP COLUMN phase;
