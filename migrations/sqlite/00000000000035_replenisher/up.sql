-- What a developer is replenished with comes off the shelf too.
ALTER TABLE baths ADD COLUMN replenisher_id INTEGER REFERENCES products (id);
ALTER TABLE baths ADD COLUMN replenisher_water INTEGER CHECK (replenisher_water >= 0);
