DROP TABLE schema_reach;
