DROP TABLE run_rolls;
DROP TABLE runs;
DROP TABLE day_plans;
