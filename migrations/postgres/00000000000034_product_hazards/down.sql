ALTER TABLE baths ADD COLUMN hazards TEXT NOT NULL DEFAULT '';
ALTER TABLE products ADD COLUMN hazards TEXT NOT NULL DEFAULT '';
UPDATE products SET hazards = coalesce((SELECT trim('Concentrate: ' || trim(signal || ' ' || codes || ' ' || words))
    FROM product_hazards h WHERE h.product_id = products.id AND h.strength = 'concentrate'), '');
UPDATE products SET hazards = trim(hazards || coalesce((SELECT ' Working: ' || trim(signal || ' ' || codes || ' ' || words)
    FROM product_hazards h WHERE h.product_id = products.id AND h.strength = 'working'), ''));
DROP TABLE product_hazards;
