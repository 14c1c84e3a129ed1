-- The chart had hazard lines of its own beside those of the products. What stood only there goes to
-- the product that is poured for the developer.
INSERT INTO product_hazards (product_id, strength, signal, codes, words)
SELECT p.id, s.strength, '', '', ''
FROM products p CROSS JOIN (SELECT 'concentrate' AS strength UNION ALL SELECT 'working') s
WHERE NOT EXISTS (SELECT 1 FROM product_hazards h WHERE h.product_id = p.id AND h.strength = s.strength);
UPDATE product_hazards SET words = (
    SELECT d.hazards FROM developers d JOIN products p ON p.developer_id = d.id
    WHERE p.id = product_hazards.product_id
)
WHERE NOT EXISTS (
    SELECT 1 FROM product_hazards h
    WHERE h.product_id = product_hazards.product_id AND h.codes || h.words <> ''
) AND EXISTS (
    SELECT 1 FROM developers d JOIN products p ON p.developer_id = d.id
    WHERE p.id = product_hazards.product_id AND d.hazards <> ''
);
ALTER TABLE developers DROP COLUMN hazards;
