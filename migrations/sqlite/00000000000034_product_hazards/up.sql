-- What the maker's data sheet says of each product, as bought and at working strength apart. It was
-- one text with both in it, copied to every bath; now it stands in one place, and baths look it up.
CREATE TABLE product_hazards (
    product_id INTEGER NOT NULL REFERENCES products (id) ON DELETE CASCADE,
    strength TEXT NOT NULL CHECK (strength IN ('concentrate', 'working')),
    signal TEXT NOT NULL CHECK (signal IN ('', 'Warning', 'Danger')),
    codes TEXT NOT NULL,
    words TEXT NOT NULL,
    PRIMARY KEY (product_id, strength)
) STRICT;
INSERT INTO product_hazards (product_id, strength, signal, codes, words)
SELECT id, 'concentrate', '', '', trim(CASE
    WHEN instr(hazards, 'Concentrate:') = 0 AND instr(hazards, 'Working:') > 0 THEN ''
    WHEN instr(hazards, 'Concentrate:') = 0 THEN hazards
    WHEN instr(substr(hazards, instr(hazards, 'Concentrate:') + 12), 'Working:') = 0
        THEN substr(hazards, instr(hazards, 'Concentrate:') + 12)
    ELSE substr(substr(hazards, instr(hazards, 'Concentrate:') + 12), 1,
        instr(substr(hazards, instr(hazards, 'Concentrate:') + 12), 'Working:') - 1)
END) FROM products;
INSERT INTO product_hazards (product_id, strength, signal, codes, words)
SELECT id, 'working', '', '', trim(CASE
    WHEN instr(hazards, 'Working:') = 0 AND instr(hazards, 'Concentrate:') > 0 THEN ''
    WHEN instr(hazards, 'Working:') = 0 THEN hazards
    WHEN instr(substr(hazards, instr(hazards, 'Working:') + 8), 'Concentrate:') = 0
        THEN substr(hazards, instr(hazards, 'Working:') + 8)
    ELSE substr(substr(hazards, instr(hazards, 'Working:') + 8), 1,
        instr(substr(hazards, instr(hazards, 'Working:') + 8), 'Concentrate:') - 1)
END) FROM products;
ALTER TABLE products DROP COLUMN hazards;
ALTER TABLE baths DROP COLUMN hazards;
