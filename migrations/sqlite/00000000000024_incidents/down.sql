DROP TABLE taken_on;
DROP TABLE eyewash_checks;
DROP TABLE incident_follow_ups;
DROP TABLE incidents;
DROP TABLE safety_settings;
