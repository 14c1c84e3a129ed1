-- What a developer is replenished with comes off the shelf too.
ALTER TABLE baths ADD COLUMN replenisher_id BIGINT REFERENCES products (id);
ALTER TABLE baths ADD COLUMN replenisher_water BIGINT CHECK (replenisher_water >= 0);
