DROP TABLE waste_rules;
DROP TABLE waste_log;
DROP TABLE waste_containers;
