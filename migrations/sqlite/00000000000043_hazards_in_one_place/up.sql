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
WHERE product_id IN (
    SELECT p.id FROM products p
    JOIN developers d ON d.id = p.developer_id
    JOIN product_hazards h ON h.product_id = p.id
    WHERE d.hazards <> ''
    GROUP BY p.id
    HAVING max(h.codes || h.words) = ''
);
ALTER TABLE developers DROP COLUMN hazards;
