-- Who was in the building from when to when. Nobody is in it twice at once.
CREATE TABLE visits (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    in_s INTEGER NOT NULL,
    out_s INTEGER,
    out_by INTEGER REFERENCES members (id),
    CHECK (out_s IS NULL OR out_s >= in_s)
) STRICT;
CREATE UNIQUE INDEX visits_open_once ON visits (member_id) WHERE out_s IS NULL;
CREATE INDEX visits_by_time ON visits (in_s);

-- What the last one out looks after, in the lead's own words.
CREATE TABLE closing_items (
    id INTEGER PRIMARY KEY,
    position INTEGER NOT NULL UNIQUE,
    text TEXT NOT NULL
) STRICT;

-- The lists that were signed. The words are copied: the list may change, what was signed does not.
CREATE TABLE closings (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    at_s INTEGER NOT NULL,
    note TEXT NOT NULL
) STRICT;
CREATE INDEX closings_by_time ON closings (at_s);
CREATE TABLE closing_lines (
    closing_id INTEGER NOT NULL REFERENCES closings (id),
    position INTEGER NOT NULL,
    text TEXT NOT NULL,
    done INTEGER NOT NULL CHECK (done IN (0, 1)),
    PRIMARY KEY (closing_id, position)
) STRICT;

-- Who came to their booking, and for which one nobody came.
CREATE TABLE arrivals (
    id INTEGER PRIMARY KEY,
    booking_id INTEGER NOT NULL UNIQUE REFERENCES bookings (id),
    at_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id)
) STRICT;
CREATE TABLE no_shows (
    id INTEGER PRIMARY KEY,
    booking_id INTEGER NOT NULL UNIQUE REFERENCES bookings (id),
    member_id INTEGER NOT NULL REFERENCES members (id),
    at_s INTEGER NOT NULL
) STRICT;
CREATE INDEX no_shows_by_time ON no_shows (at_s);

-- Calendar feeds: one for each member who wants one, one for the studio (without a member). The
-- secret in the address is made from the key file, the id and the number; a new number ends it.
CREATE TABLE feeds (
    id INTEGER PRIMARY KEY,
    member_id INTEGER REFERENCES members (id),
    number INTEGER NOT NULL,
    made_s INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX feeds_of_member ON feeds (member_id) WHERE member_id IS NOT NULL;
CREATE UNIQUE INDEX feeds_of_studio ON feeds (number > 0) WHERE member_id IS NULL;

CREATE INDEX bookings_by_start ON bookings (from_s);

CREATE TRIGGER visits_made_beat AFTER INSERT ON visits BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(NEW.in_s / 86400, 0), n FROM pulse;
END;
CREATE TRIGGER visits_changed_beat AFTER UPDATE ON visits BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n)
        SELECT max(coalesce(NEW.out_s, NEW.in_s) / 86400, 0), n FROM pulse;
END;
