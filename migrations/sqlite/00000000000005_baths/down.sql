DROP TABLE bath_entries;
DROP TABLE baths;
