DROP TABLE bath_entries;
DROP FUNCTION bath_entries_never_change();
DROP TABLE baths;
