-- A developer may be mixed from several parts, each poured from a bottle of its own: "A 1 + B 1"
-- beside the water. Empty where it is poured from one.
ALTER TABLE developers ADD COLUMN parts TEXT NOT NULL DEFAULT ''
    CHECK (length(parts) <= 400);
-- Which of its developer's parts a product is; the first is also the only one of most.
ALTER TABLE products ADD COLUMN developer_part INTEGER NOT NULL DEFAULT 1
    CHECK (developer_part BETWEEN 1 AND 6);
-- What a run pours of each part. All of them together are its concentrate_ul.
CREATE TABLE run_parts (
    run_id INTEGER NOT NULL REFERENCES runs (id),
    place INTEGER NOT NULL CHECK (place BETWEEN 1 AND 6),
    name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 40),
    ul INTEGER NOT NULL CHECK (ul > 0),
    PRIMARY KEY (run_id, place)
) STRICT;
