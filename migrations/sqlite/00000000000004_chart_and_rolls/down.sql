DROP TABLE roll_events;
DROP TABLE rolls;
DROP TABLE recipes;
DROP TABLE developers;
DROP TABLE films;
