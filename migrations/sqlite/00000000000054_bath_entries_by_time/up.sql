-- What baths took in a month is found by its time, for costs and for the pictures of the month.
CREATE INDEX bath_entries_by_time ON bath_entries (at_s);
