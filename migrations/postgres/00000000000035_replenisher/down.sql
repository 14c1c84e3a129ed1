ALTER TABLE baths DROP COLUMN replenisher_water;
ALTER TABLE baths DROP COLUMN replenisher_id;
