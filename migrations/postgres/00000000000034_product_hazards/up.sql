-- What the maker's data sheet says of each product, as bought and at working strength apart. It was
-- one text with both in it, copied to every bath; now it stands in one place, and baths look it up.
CREATE TABLE product_hazards (
    product_id BIGINT NOT NULL REFERENCES products (id) ON DELETE CASCADE,
    strength TEXT NOT NULL CHECK (strength IN ('concentrate', 'working')),
    signal TEXT NOT NULL CHECK (signal IN ('', 'Warning', 'Danger')),
    codes TEXT NOT NULL,
    words TEXT NOT NULL,
    PRIMARY KEY (product_id, strength)
);
INSERT INTO product_hazards (product_id, strength, signal, codes, words)
SELECT id, 'concentrate', '', '', trim(CASE
    WHEN strpos(hazards, 'Concentrate:') = 0 AND strpos(hazards, 'Working:') > 0 THEN ''
    WHEN strpos(hazards, 'Concentrate:') = 0 THEN hazards
    ELSE split_part(split_part(hazards, 'Concentrate:', 2), 'Working:', 1)
END) FROM products;
INSERT INTO product_hazards (product_id, strength, signal, codes, words)
SELECT id, 'working', '', '', trim(CASE
    WHEN strpos(hazards, 'Working:') = 0 AND strpos(hazards, 'Concentrate:') > 0 THEN ''
    WHEN strpos(hazards, 'Working:') = 0 THEN hazards
    ELSE split_part(split_part(hazards, 'Working:', 2), 'Concentrate:', 1)
END) FROM products;
ALTER TABLE products DROP COLUMN hazards;
ALTER TABLE baths DROP COLUMN hazards;
