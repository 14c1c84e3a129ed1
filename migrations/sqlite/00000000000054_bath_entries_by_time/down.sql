DROP INDEX bath_entries_by_time;
