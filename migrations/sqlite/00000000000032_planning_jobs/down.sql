DROP TABLE planning_jobs;
