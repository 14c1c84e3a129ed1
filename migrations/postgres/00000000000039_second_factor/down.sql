ALTER TABLE api_tokens DROP COLUMN second_factor;
ALTER TABLE sessions DROP COLUMN second_factor;
DROP TABLE recovery_codes;
DROP TABLE second_factors;
