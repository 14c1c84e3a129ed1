-- Baths: where they stand, what they were mixed from, and every judge of what they can still take.
ALTER TABLE baths ADD COLUMN number BIGINT NOT NULL DEFAULT 0;
UPDATE baths SET number = id;
CREATE UNIQUE INDEX baths_by_number ON baths (number);
ALTER TABLE baths ADD COLUMN place TEXT NOT NULL DEFAULT 'working' CHECK (place IN ('working', 'bath_1', 'bath_2', 'reserve'));
ALTER TABLE baths ADD COLUMN material TEXT NOT NULL DEFAULT 'film' CHECK (material IN ('film', 'paper'));
ALTER TABLE baths ADD COLUMN way TEXT NOT NULL DEFAULT 'shared' CHECK (way IN ('shared', 're_used', 'replenished', 'stock'));
ALTER TABLE baths ADD COLUMN product_id BIGINT REFERENCES products (id);
ALTER TABLE baths ADD COLUMN water_parts BIGINT;
ALTER TABLE baths ADD COLUMN least_ul BIGINT NOT NULL DEFAULT 0 CHECK (least_ul >= 0);
ALTER TABLE baths ADD COLUMN half_keeps_days BIGINT CHECK (half_keeps_days > 0);
ALTER TABLE baths ADD COLUMN growth_permille BIGINT CHECK (growth_permille >= 0);
ALTER TABLE baths ADD COLUMN growth_every_milli BIGINT CHECK (growth_every_milli > 0);
ALTER TABLE baths ADD COLUMN replenish_ul BIGINT CHECK (replenish_ul > 0);
ALTER TABLE baths ADD COLUMN promotions BIGINT NOT NULL DEFAULT 0 CHECK (promotions >= 0);
ALTER TABLE baths ADD COLUMN hazards TEXT NOT NULL DEFAULT '';
ALTER TABLE baths ADD COLUMN mixed_by BIGINT REFERENCES members (id);

ALTER TABLE bath_entries DROP CONSTRAINT bath_entries_kind_check;
ALTER TABLE bath_entries ADD CONSTRAINT bath_entries_kind_check CHECK (kind IN
    ('use', 'clip_test', 'correction', 'top_up', 'replenish', 'drawn', 'scrap_test', 'moved', 'recalled', 'retired'));
ALTER TABLE bath_entries ADD COLUMN film_milli BIGINT NOT NULL DEFAULT 0;
ALTER TABLE bath_entries ADD COLUMN volume_ul BIGINT NOT NULL DEFAULT 0;
ALTER TABLE bath_entries ADD COLUMN film TEXT NOT NULL DEFAULT '';
ALTER TABLE bath_entries ADD COLUMN temperature_mc BIGINT;
ALTER TABLE bath_entries ADD COLUMN pre_wet BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE bath_entries ADD COLUMN passed BOOLEAN;
ALTER TABLE bath_entries DISABLE TRIGGER bath_entries_never_change;
UPDATE bath_entries SET film_milli = milli WHERE kind = 'use';
ALTER TABLE bath_entries ENABLE TRIGGER bath_entries_never_change;
ALTER TABLE bath_entries ADD CONSTRAINT bath_entries_correction_check CHECK (kind <> 'correction' OR corrects_id IS NOT NULL);

-- The figures every bath is judged by; each can be changed by a lead.
CREATE TABLE bath_settings (
    id BIGINT PRIMARY KEY CHECK (id = 1),
    margin_percent BIGINT NOT NULL CHECK (margin_percent BETWEEN 10 AND 100),
    tabular_percent BIGINT NOT NULL CHECK (tabular_percent BETWEEN 100 AND 300),
    carry_over_ul BIGINT NOT NULL CHECK (carry_over_ul BETWEEN 0 AND 100000),
    second_bath_percent BIGINT NOT NULL CHECK (second_bath_percent BETWEEN 1 AND 100),
    most_promotions BIGINT NOT NULL CHECK (most_promotions BETWEEN 0 AND 20),
    opened_long_days BIGINT NOT NULL CHECK (opened_long_days BETWEEN 1 AND 3650),
    currency TEXT NOT NULL,
    version BIGINT NOT NULL
);
INSERT INTO bath_settings VALUES (1, 75, 150, 15000, 10, 5, 60, 'EUR', 1);
