DROP TABLE bath_settings;
ALTER TABLE bath_entries DROP CONSTRAINT bath_entries_correction_check;
ALTER TABLE bath_entries DISABLE TRIGGER bath_entries_never_change;
DELETE FROM bath_entries WHERE kind NOT IN ('use', 'clip_test', 'correction');
ALTER TABLE bath_entries ENABLE TRIGGER bath_entries_never_change;
ALTER TABLE bath_entries DROP CONSTRAINT bath_entries_kind_check;
ALTER TABLE bath_entries ADD CONSTRAINT bath_entries_kind_check CHECK (kind IN ('use', 'clip_test', 'correction'));
ALTER TABLE bath_entries DROP COLUMN film_milli, DROP COLUMN volume_ul, DROP COLUMN film,
    DROP COLUMN temperature_mc, DROP COLUMN pre_wet, DROP COLUMN passed;
DROP INDEX baths_by_number;
ALTER TABLE baths DROP COLUMN number, DROP COLUMN place, DROP COLUMN material, DROP COLUMN way,
    DROP COLUMN product_id, DROP COLUMN water_parts, DROP COLUMN least_ul, DROP COLUMN half_keeps_days,
    DROP COLUMN growth_permille, DROP COLUMN growth_every_milli, DROP COLUMN replenish_ul,
    DROP COLUMN promotions, DROP COLUMN hazards, DROP COLUMN mixed_by;
