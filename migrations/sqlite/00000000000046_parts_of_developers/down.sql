DROP TABLE run_parts;
ALTER TABLE products DROP COLUMN developer_part;
ALTER TABLE developers DROP COLUMN parts;
